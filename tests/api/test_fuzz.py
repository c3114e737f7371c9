"""Schemathesis over the running app: whatever the description allows or forbids, the answers are as it says."""

from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from hypothesis import given, settings
from schemathesis import Case, GenerationMode
from schemathesis.config import SchemathesisConfig
from schemathesis.specs.openapi.checks import negative_data_rejection

from quoter.api.http.operations import OPERATIONS, Operation

from .running import RATES, SITE, Service, a_service

EXAMPLES = 15

# A body of the right form may still name codes that the rate book does not have, or ask for what makes no sense.
CONFIG = SchemathesisConfig.from_dict(
    {
        "checks": {
            "positive_data_acceptance": {"expected-statuses": ["2xx", 400, 401, 403, 404, 409, 412, 422, 428]},
            "negative_data_rejection": {"expected-statuses": [400, 401, 403, 404, 405, 409, 412, 413, 415, 422, 428]},
        }
    }
)
UPLOADS = {media_type for declared in OPERATIONS.values() for media_type in declared.upload}


@schemathesis.serializer(*UPLOADS)
def as_it_is(context: Any, value: Any) -> dict[str, Any]:
    """A file that is none, or a file of any bytes."""
    return {"data": value if isinstance(value, bytes) else str(value).encode()}


@pytest.fixture(scope="module")
def fuzzed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    """A service of its own, with one book, so that its quotes are nobody else's."""
    with a_service(tmp_path_factory.mktemp("fuzzed"), RATES / "ballyquarn") as running:
        yield running


@pytest.fixture(scope="module")
def described(fuzzed: Service) -> Any:
    """What the service says of itself."""
    return schemathesis.openapi.from_wsgi("/openapi.json", fuzzed.app, config=CONFIG)


@pytest.mark.parametrize("mode", [GenerationMode.POSITIVE, GenerationMode.NEGATIVE], ids=["as-described", "otherwise"])
@pytest.mark.parametrize("declared", OPERATIONS.values(), ids=lambda declared: declared.id)
def test_every_answer_is_as_described(fuzzed: Service, described: Any, declared: Operation, mode: GenerationMode):
    """No fault of the server, and no status, content type, header or body that is not described."""
    scope = "desk" if not declared.scopes or "desk" in declared.scopes else declared.scopes[0]
    headers = {"Authorization": f"Bearer {fuzzed.new_key(scope)}"} | ({"Origin": SITE} if scope == "form" else {})
    headers["Accept-Encoding"] = "identity"  # nothing between the app and the test would unpack what comes as gzip
    if mode is GenerationMode.NEGATIVE and not (declared.query or declared.body):
        return

    @settings(max_examples=EXAMPLES)
    @given(described[declared.path][declared.method].as_strategy(generation_mode=mode))
    def answers_as_described(case: Case) -> None:
        # In a list of jobs, each that is wrong is answered in its place.
        by_place = [negative_data_rejection] if declared.id == "priceJobs" and isinstance(case.body, list) else []
        case.call_and_validate(headers=headers, excluded_checks=by_place)

    answers_as_described()
