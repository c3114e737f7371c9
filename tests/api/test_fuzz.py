"""Schemathesis over the running app: whatever the description allows or forbids, the answers are as it says."""

from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from hypothesis import given, settings
from schemathesis import Case, GenerationMode
from schemathesis.config import SchemathesisConfig

from quoter.api.operations import OPERATIONS, Operation

from .running import RATES, Service, a_service

EXAMPLES = 25

# A body of the right form may still name codes that the rate book does not have, or ask for what makes no sense.
CONFIG = SchemathesisConfig.from_dict(
    {"checks": {"positive_data_acceptance": {"expected-statuses": ["2xx", 401, 403, 404, 422]}}}
)


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
    key = fuzzed.keyring.new("desk", "desk")[0]
    if mode is GenerationMode.NEGATIVE and not (declared.query or declared.body):
        return

    @settings(max_examples=EXAMPLES)
    @given(described[declared.path][declared.method].as_strategy(generation_mode=mode))
    def answers_as_described(case: Case) -> None:
        case.call_and_validate(headers={"Authorization": f"Bearer {key}"})

    answers_as_described()
