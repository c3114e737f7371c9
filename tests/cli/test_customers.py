"""`quoter customer`: prints what is held and erases it, after asking."""

import json
import os
import subprocess
from pathlib import Path

import pytest
from service.desk import a_desk
from service.holding import a_customers_quote, an_enquiry, files_of

from .running import command, environment, quoter, usage_of_wrong

WHO = ("--email", "quillfeather@example.org")
NOBODY = "nothing is held on them: nobody has this address or number"


@pytest.fixture
def database(tmp_path: Path) -> Path:
    """With a quote that was issued and one that was accepted."""
    with a_desk(tmp_path) as desk:
        a_customers_quote(desk, "Quillfeather")
        desk.forward(minutes=1)
        desk.decide(a_customers_quote(desk, "Quillfeather"), "accepted")
    return tmp_path / "quoter.db"


def test_the_export_is_json(database: Path):
    """For the customer to read."""
    done = quoter("customer", "export", *WHO, "--database", database)
    assert (done.returncode, done.stderr) == (0, "")
    assert [each["number"] for each in json.loads(done.stdout)["quotes"]] == ["2026-00001", "2026-00002"]


def test_without_a_terminal_nothing_is_erased_unless_yes_is_said(database: Path):
    """What would be is shown before."""
    refused = quoter("customer", "erase", *WHO, "--database", database, given=b"yes\n")
    assert (refused.returncode, refused.stdout) == (1, "")
    assert "quote 2026-00001, issued, Quillfeather Example" in refused.stderr
    assert refused.stderr.endswith("Nobody can be asked here; --yes says that it is meant.\nnothing is erased\n")
    assert b"quillfeather" in files_of(database)
    done = quoter("customer", "erase", *WHO, "--yes", "--database", database)
    assert (done.returncode, done.stdout.splitlines()[0]) == (0, "quotes erased: 2026-00001")
    assert "quotes kept, as somebody has agreed to them; --accepted erases them too: 2026-00002" in done.stdout
    assert quoter("customer", "erase", *WHO, "--yes", "--accepted", "--database", database).returncode == 0
    assert b"quillfeather" not in files_of(database)
    again = quoter("customer", "erase", *WHO, "--yes", "--database", database)
    assert (again.returncode, again.stderr.splitlines()) == (1, [NOBODY])


@pytest.mark.parametrize("action", [("export",), ("erase", "--yes")])
def test_nobody_found_is_said_and_is_no_success(database: Path, action: tuple[str, ...]):
    """A slip of the keyboard must not look as if somebody had been served."""
    done = quoter("customer", *action, "--email", "nobody@example.org", "--database", database)
    assert (done.returncode, done.stdout, done.stderr.splitlines()) == (1, "", [NOBODY])


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="needs a terminal as POSIX has them")
@pytest.mark.parametrize(("typed", "status"), [(b"yes\n", 0), (b"no\n", 1), (b"\n", 1)])
def test_on_a_terminal_it_asks(database: Path, typed: bytes, status: int):
    """Only the whole word counts."""
    ours, theirs = os.openpty()
    os.write(ours, typed)
    asked = command("customer", "erase", *WHO, "--database", database)
    done = subprocess.run(asked, stdin=theirs, capture_output=True, env=environment(), timeout=60)
    os.close(ours), os.close(theirs)
    assert done.returncode == status, done.stderr
    assert b"Type yes: " in done.stderr


@pytest.mark.parametrize(
    "arguments", [(), ("--email", "a@b", "--phone", "5550100"), ("--phone", "123"), ("--email", " ")]
)
@pytest.mark.parametrize("action", ["export", "erase"])
def test_who_must_be_said_once(capsys: pytest.CaptureFixture[str], action: str, arguments: tuple[str, ...]):
    """By one thing that is enough."""
    assert usage_of_wrong(capsys, "customer", action, *arguments)[-1].startswith(f"quoter customer {action}: error:")


def test_what_was_erased_before_is_not_announced_again(tmp_path: Path):
    """By its number it is still found, and said to be erased."""
    with a_desk(tmp_path) as desk:
        a_customers_quote(desk, "Quillfeather")
        enquiry = an_enquiry(desk, "Quillfeather")
    for named, what in (("--quote", "2026-00001"), ("--enquiry", enquiry)):
        who = ("customer", "erase", named, what, "--yes", "--database", tmp_path / "quoter.db")
        assert ": to be erased\n" in quoter(*who).stderr
        again = quoter(*who)
        assert again.stderr.count("erased before") == 1
        assert "to be erased" not in again.stderr
