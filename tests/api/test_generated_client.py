"""A client that a stock generator makes from the description: it compiles, works, and knows problems by their type."""

import compileall
import importlib
import pkgutil
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from cli.running import BALLYQUARN, ROOT, Served, served

from quoter.api.description.topics import topic_of
from quoter.api.http.operations import OPERATIONS
from quoter.api.prices.examples import JOB_EXAMPLE

PACKAGE = "generated_client"


@pytest.fixture(scope="session")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A service in a process of its own."""
    database = tmp_path_factory.mktemp("described") / "quoter.db"
    with served(database, "--demo", "--book", BALLYQUARN, lines=6) as running:
        yield running


@pytest.fixture(scope="session")
def generated(service: Served, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What the generator makes of the description that is served. It takes a while and is done once."""
    folder = tmp_path_factory.mktemp("client") / PACKAGE
    options = ["--meta", "none", "--config", ROOT / "openapi/python-client.json", "--output-path", folder]
    address = f"http://127.0.0.1:{service.port}/openapi.json"
    command = [
        sys.executable,
        "-m",
        "openapi_python_client",
        "generate",
        "--url",
        address,
        *options,
        "--fail-on-warning",
    ]
    done = subprocess.run(list(map(str, command)), capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stdout + done.stderr
    return folder


@pytest.fixture
def client(generated: Path, monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """The package that was made."""
    monkeypatch.syspath_prepend(str(generated.parent))
    return importlib.import_module(PACKAGE)


@pytest.fixture
def calling(client: ModuleType, service: Served) -> Iterator[Any]:
    """Somebody who calls with the desk's key."""
    key = next(line.split()[1] for line in service.greeting if line.split()[:1] == ["desk"])
    made = client.AuthenticatedClient(base_url=f"http://127.0.0.1:{service.port}", token=key)
    with made as opened:
        yield opened


def call(operation: str) -> Any:
    """The function of an operation, whose answer has a status and a parsed body."""
    (declared,) = (each for each in OPERATIONS.values() if each.id.lower() == operation.replace("_", ""))
    package = topic_of(declared).name.lower().replace(" ", "_")
    return importlib.import_module(f"{PACKAGE}.api.{package}.{operation}").sync_detailed


def model(name: str) -> Any:
    """The class of a document."""
    return getattr(importlib.import_module(f"{PACKAGE}.models"), name)


def test_every_operation_and_every_module_is_there(client: ModuleType, generated: Path):
    """The generator leaves out what it does not understand: nothing."""
    assert compileall.compile_dir(generated, quiet=1)
    names = [each.name for each in pkgutil.walk_packages(client.__path__, f"{PACKAGE}.")]
    assert all(importlib.import_module(name) for name in names)
    modules = {name.rpartition(".")[2] for name in names if re.search(r"\.api\.\w+\.", name)}
    made = {name.replace("_", "") for name in modules}
    assert made == {name.lower() for name in OPERATIONS}


def test_a_job_is_priced_and_a_quote_is_issued(calling: Any):
    """With typed requests and answers; amounts stay text."""
    job = model("Job").from_dict(JOB_EXAMPLE)
    priced = call("price_jobs")(client=calling, body=job).parsed
    assert isinstance(priced, model("Price"))
    issued = call("issue_quote")(client=calling, body=model("Issue").from_dict(JOB_EXAMPLE))
    assert (issued.status_code, type(issued.parsed)) == (201, model("Quote"))
    assert issued.parsed.totals.gross == priced.totals.gross
    read = call("read_quote")(quote_id=issued.parsed.id, client=calling).parsed
    assert (read.number, read.state) == (issued.parsed.number, "issued")


def test_a_list_of_jobs_comes_back_as_prices_and_problems(calling: Any):
    """Each of its own type, in their places."""
    job = model("Job").from_dict(JOB_EXAMPLE)
    wrong = model("Job").from_dict(JOB_EXAMPLE | {"device": "brick"})
    first, second = call("price_jobs")(client=calling, body=[job, wrong]).parsed
    assert (type(first), type(second)) == (model("Price"), model("Problem"))


def test_a_problem_is_read_by_its_type(calling: Any):
    """With the pointer to what is wrong and what would be right."""
    wrong = JOB_EXAMPLE | {"repairs": [{"procedure": "batery"}]}
    refused = call("issue_quote")(client=calling, body=model("Issue").from_dict(wrong))
    assert (refused.status_code, type(refused.parsed)) == (422, model("Problem"))
    assert refused.parsed.type_ == "/problems/unknown-code"
    (error,) = refused.parsed.errors
    assert (error.pointer, "battery" in error.allowed) == ("/repairs/0/procedure", True)
