"""The pages for people name what there is, lead where they say, and their examples run."""

import argparse
import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest
from cli.running import BALLYQUARN, RATES, ROOT, environment, served

import quoter.app  # noqa: F401 - declares every operation
from quoter.api.http.operations import OPERATIONS, Operation
from quoter.api.http.problem_document import TITLES
from quoter.cli.main import parser
from quoter.config import Settings, variable
from quoter.service.webhooks.signing import new_secret, signatures

PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md"))]
TEXT = "\n".join(page.read_text() for page in PAGES)
README = PAGES[0].read_text()

LOOPBACK = "127.0.0.0/8"
"""Networks that docs/start-owner.md wants the service to know: nothing is sent out of this machine."""

TESTED = re.compile(r"^<!-- tested -->\n```sh\n(.*?)^```$", re.MULTILINE | re.DOTALL)
RECEIVER = re.compile(r"^<!-- tested -->\n```python\n(.*?)^```$", re.MULTILINE | re.DOTALL)
LINK = re.compile(r"\]\((?!https?:|mailto:|#)([^)#\s]+)")


def commands(parser: argparse.ArgumentParser, path: str = "quoter") -> Iterator[str]:
    """Every command that does something."""
    inner = [action for action in parser._actions if isinstance(action, argparse._SubParsersAction)]
    if not inner:
        yield path
    for action in inner:
        for name, command in action.choices.items():
            yield from commands(command, f"{path} {name}")


@pytest.mark.parametrize("name", [setting.name for setting in fields(Settings)])
def test_every_setting_is_explained_with_its_default(name: str):
    """In a row of its own."""
    default = getattr(Settings(), name)
    (row,) = re.findall(rf"^\| `{variable(name)}` \|.*$", TEXT, re.MULTILINE)
    assert (f"`{default}`" in row) is bool(default)


@pytest.mark.parametrize("command", list(commands(parser())))
def test_every_command_is_mentioned(command: str):
    """By its whole name."""
    assert re.search(rf"{command}\b", TEXT)


@pytest.mark.parametrize("code", TITLES)
def test_every_type_of_problem_is_mentioned(code: str):
    """As it stands in a problem document."""
    assert f"`{code}`" in TEXT


@pytest.mark.parametrize("declared", OPERATIONS.values(), ids=lambda declared: declared.id)
def test_every_route_is_mentioned(declared: Operation):
    """With its method."""
    assert f"`{declared.method} {declared.path}`" in TEXT


def test_the_calls_that_can_be_sent_again_are_listed():
    """All that take an Idempotency-Key, and no others."""
    section = (ROOT / "docs/api.md").read_text().partition("## Retrying safely\n")[2].partition("\n## ")[0]
    repeatable = [f"{each.method} {each.path}" for each in OPERATIONS.values() if each.repeatable]
    assert sorted(re.findall(r"`([A-Z]+ /v1/[^`]*)`", section)) == sorted(repeatable)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_every_link_leads_somewhere(page: Path):
    """To a file of the repository."""
    assert [link for link in LINK.findall(page.read_text()) if not (page.parent / link).exists()] == []


@pytest.fixture
def desk(tmp_path: Path) -> dict[str, str]:
    """The environment of somebody who follows the README in a copy: `quoter` on the path, curl that minds errors."""
    programs = tmp_path / "bin"
    programs.mkdir()
    (programs / "quoter").write_text(f'#!/bin/sh\nexec "{sys.executable}" -m quoter.cli "$@"\n')
    (programs / "quoter").chmod(0o755)
    shutil.copytree(RATES, tmp_path / "rates")
    (tmp_path / ".curlrc").write_text("fail-with-body\nsilent\nshow-error\n")
    path = f"{programs}{os.pathsep}{os.environ['PATH']}"
    return environment(PATH=path, HOME=str(tmp_path), QUOTER_DATABASE=str(tmp_path / "quoter.db"))


@pytest.mark.skipif(shutil.which("sh") is None or shutil.which("curl") is None, reason="needs a shell and curl")
@pytest.mark.parametrize(
    "page", [page for page in PAGES if TESTED.search(page.read_text())], ids=lambda page: page.name
)
def test_the_examples_of_a_page_run(tmp_path: Path, desk: dict[str, str], page: Path):
    """One after the other in one shell, against a service with the demo book, as somebody would who tries them."""
    script = "\n".join(TESTED.findall(page.read_text()))
    within = {"QUOTER_WEBHOOK_NETWORKS": LOOPBACK}
    with served(tmp_path / "quoter.db", "--demo", "--book", BALLYQUARN, lines=6, **within) as service:
        desk["KEY"] = service.greeting[3].split()[1]
        done = subprocess.run(
            ["sh", "-eu", "-c", script.replace(":8080", f":{service.port}")],
            cwd=tmp_path,
            env=desk,
            capture_output=True,
            text=True,
            timeout=120,
        )
        assert (done.returncode, done.stderr.count("Traceback")) == (0, 0), f"{done.stdout}\n{done.stderr}"


@pytest.mark.parametrize(
    ("page", "least"), [("README.md", 4), ("start-desk.md", 6), ("start-form.md", 4), ("start-owner.md", 8)]
)
def test_the_pages_to_start_with_are_run(page: str, least: int):
    """What looks like a command there has been tried."""
    (text,) = [each.read_text() for each in PAGES if each.name == page]
    assert len(TESTED.findall(text)) >= least
    if page.startswith("start-"):
        assert text.count("```sh") == len(TESTED.findall(text))


def test_the_example_of_a_receiver_knows_what_is_genuine():
    """Signed with either secret while both count; not with another, not touched, not old, not without a header."""
    (example,) = RECEIVER.findall((ROOT / "docs" / "webhooks.md").read_text())
    scope: dict[str, Any] = {}
    exec(compile(example, "docs/webhooks.md", "exec"), scope)
    old, new, other = new_secret(), new_secret(), new_secret()
    body, seconds = '{"type":"webhook.trial","data":"ü"}'.encode(), int(time.time())

    def headers(at: int) -> dict[str, str]:
        signed = signatures([new, old], "an-id", at, body)
        return {"webhook-id": "an-id", "webhook-timestamp": str(at), "webhook-signature": signed}

    is_genuine = scope["is_genuine"]
    assert [is_genuine(each, headers(seconds), body) for each in (old, new, other)] == [True, True, False]
    assert not is_genuine(new, headers(seconds), body + b" ")
    assert not is_genuine(new, headers(seconds) | {"webhook-id": "another"}, body)
    assert not is_genuine(new, headers(seconds - 3600), body)
    for name in headers(seconds):
        assert not is_genuine(new, {key: value for key, value in headers(seconds).items() if key != name}, body)
    assert not is_genuine(new, headers(seconds) | {"webhook-signature": "v1,é"}, body)
