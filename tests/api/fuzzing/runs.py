"""Runs of schemathesis against a service that listens: which checks, which phases, whose key."""

import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tomli_w

from .internals import ROOT
from .serving import SCOPES, Running

__all__ = ["ALL_PHASES", "LEFT_OUT", "SCOPES", "Run", "Wish", "fuzzed"]

ALL_PHASES = ("examples", "coverage", "fuzzing", "stateful")

LEFT_OUT = {
    "object_level_authorization": "a shop is one tenant: every key of a scope reads what the others of it have made",
}
"""Checks of schemathesis that are not asked for, and why. All others are."""

LONGEST_SECONDS = 60
"""For an answer: a shared machine may pause, but nothing that is sent keeps the service busy for good."""

REFUSALS = [400, 401, 403, 404, 405, 409, 412, 413, 415, 422, 428]
"""Of what is not as described: 401 and 403 are looked at closely by `scopes_count`."""

ANSWERS_TO_GOOD = ["2xx", 304, 401, 403, 404, 409, 412, 422, 428]
"""To what is as described: it may name what is not there, ask for what makes no sense, or have the answer already."""

CHECKS: dict[str, Any] = {
    "positive_data_acceptance": {"expected-statuses": ANSWERS_TO_GOOD},
    "negative_data_rejection": {"expected-statuses": REFUSALS},
    "missing_required_header": {"expected-statuses": [401, 403, 422, 428]},  # RFC 6585 section 3
}


LIKE_OTHERS = (
    *("issueQuote", "previewRevision", "priceJobs", "reviseQuote"),  # they take the job that makeEnquiry takes as well
    *("exportCustomer", "calculateHourlyRate"),  # as eraseCustomer and calculateBreakEven
    *("listQuotes", "readPriceList"),  # as listEnquiries and listDevices
)
"""What a brief run spares: fields of the same kinds are tried elsewhere, and these by `make fuzz`."""


@dataclass(frozen=True, slots=True)
class Wish:
    """What to do: so many examples of each operation, so many sequences of calls that follow links.

    One that is `brief` spares operations that are like others when every value of each field is tried, follows declared
    links alone, and asks with few of the methods that a path does not have.
    """

    scope: str
    phases: tuple[str, ...]
    examples: int
    sequences: int
    seed: int
    brief: bool = False


@dataclass(frozen=True, slots=True)
class Run:
    """How it went: 0 where nothing was found, and what was printed."""

    status: int
    output: str


def fuzzed(running: Running, wish: Wish, folder: Path, *, show: Callable[[str], object] | None = print) -> Run:
    """Asks every operation, in a process of its own; shows each line as soon as it is there."""
    config = folder / f"{wish.scope}.toml"
    config.write_text(tomli_w.dumps(_config(wish)))
    headers = running.headers(wish.scope)
    surroundings = os.environ | {
        "PYTHONPATH": str(ROOT),
        "SCHEMATHESIS_HOOKS": "tests.api.fuzzing.hooks",
        "QUOTER_FUZZ_SCOPE": wish.scope,
        "QUOTER_FUZZ_AUTHORIZATION": headers.get("Authorization", ""),
        "QUOTER_FUZZ_SECRETS": str(running.service.store.path.parent),
    }
    command = [
        *_command(running.address, config, wish),
        *(f"--header={name}: {value}" for name, value in headers.items()),
    ]
    lines = []
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env=surroundings, cwd=folder
    ) as process:
        for line in process.stdout or ():
            lines.append(line)
            if show is not None:
                show(line.rstrip())
    return Run(process.returncode, "".join(lines))


def _command(address: str, config: Path, wish: Wish) -> list[str]:
    st = [str(Path(sys.executable).with_name("st")), "--config-file", str(config), "run", f"{address}/openapi.json"]
    amounts = [f"--seed={wish.seed}", f"--phases={','.join(wish.phases)}"]
    checks = ["--checks=all", f"--exclude-checks={','.join(LEFT_OUT)}"]
    times = [f"--max-response-time={LONGEST_SECONDS}", f"--request-timeout={LONGEST_SECONDS}"]
    return [
        *st,
        *amounts,
        *checks,
        *times,
        "--no-color",
        "--continue-on-failure",
        "--generation-database=none",
        "--warnings=off",
    ]


def _config(wish: Wish) -> dict[str, Any]:
    sequences: dict[str, Any] = {"generation": {"max-examples": wish.sequences}}
    coverage: dict[str, Any] = {"generate-duplicate-query-parameters": True}
    operations: list[Any] = []
    if wish.brief:
        sequences["inference"] = {"algorithms": []}
        coverage = {"unexpected-methods": ["put", "trace"]}
        operations = [{"include-operation-id": list(LIKE_OTHERS), "phases": {"coverage": {"enabled": False}}}]
    return {
        "generation": {"max-examples": wish.examples},
        "phases": {"stateful": sequences, "coverage": coverage},
        "checks": CHECKS,
        "operations": operations if "coverage" in wish.phases else [],
    }
