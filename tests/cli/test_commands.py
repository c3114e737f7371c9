"""The other commands: check a book, look after keys, print the description, and help with all of it."""

import argparse
import re
import subprocess
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from quoter.cli.main import parser

from .running import RATES, ROOT, command, environment, quoter, refused, usage_of_wrong


def commands(parser: argparse.ArgumentParser, path: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """Every command, also those that have only further ones."""
    yield path
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            for name, inner in action.choices.items():
                yield from commands(inner, (*path, name))


COMMANDS = list(commands(parser()))


@cache
def help_of(*path: str) -> str:
    """What a command says of itself."""
    done = quoter(*path, "--help")
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout


@pytest.mark.parametrize("path", COMMANDS, ids=" ".join)
def test_every_command_helps(path: tuple[str, ...]):
    """It says how it is used, and the one above it has a sentence beside its name."""
    assert help_of(*path).startswith(f"usage: {' '.join(('quoter', *path))} [-h]")
    assert not path or re.search(rf"^ +{path[-1]} +\w+", help_of(*path[:-1]), re.MULTILINE)


@pytest.mark.parametrize("arguments", [(), ("fly",), ("key",), ("key", "new"), ("book", "fly")])
def test_an_unfinished_command_is_wrong(capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...]):
    """And told how it goes on."""
    assert usage_of_wrong(capsys, *arguments)[0].startswith("usage: quoter")


@pytest.mark.parametrize("book", ["ballyquarn", "peddrick-mills"])
def test_a_sound_book_has_no_flaws(book: str):
    """Said so."""
    done = quoter("book", "check", RATES / book)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "no flaws\n")


def test_every_flaw_of_a_book_is_printed(tmp_path: Path):
    """One a line, and their number."""
    (tmp_path / "book.toml").write_text('code = "x"\n')
    done = quoter("book", "check", tmp_path)
    flaws = done.stdout.splitlines()
    assert (done.returncode, done.stderr) == (1, f"{len(flaws)} flaws\n")
    assert any(flaw.startswith("devices") for flaw in flaws)


def test_the_description_is_printed():
    """Byte for byte as it is committed, which is what is served."""
    done = quoter("openapi")
    assert done.stdout.encode() == (ROOT / "openapi" / "openapi.json").read_bytes()


def new_key(database: Path, *options: str) -> str:
    """A new key, as its holder presents it."""
    done = quoter("key", "new", "--database", database, "--name", "Zoë", *options)
    assert done.returncode == 0, done.stderr
    (presented,) = done.stdout.splitlines()
    assert "shown this once" in done.stderr
    return presented


def test_a_key_is_made_listed_and_ended(tmp_path: Path):
    """The list never shows a secret."""
    database = tmp_path / "var" / "quoter.db"
    presented = new_key(database, "--scope", "desk", "--economics", "--days", "30")
    _, key_id, secret = presented.split("_", 2)
    (line,) = quoter("key", "list", "--database", database).stdout.splitlines()
    assert line.startswith(f"{key_id}  desk, sees economics  Zoë  made ")
    assert "until 2" in line
    assert secret not in line
    assert quoter("key", "revoke", "--database", database, key_id).returncode == 0
    assert "revoked 2" in quoter("key", "list", "--database", database).stdout
    (line,) = refused(quoter("key", "revoke", "--database", database, key_id), 1)
    assert line == f"there is no key in use '{key_id}'"


def test_keys_are_kept_where_the_environment_says(tmp_path: Path):
    """As for the service."""
    database = str(tmp_path / "quoter.db")
    done = quoter(
        "key", "new", "--scope", "form", "--name", "site", "--origin", "https://shop.example", QUOTER_DATABASE=database
    )
    assert done.returncode == 0
    assert "form  site" in quoter("key", "list", "--database", database).stdout


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--scope", "king", "--name", "x"), "--scope"),
        (("--scope", "desk"), "--name"),
        (("--scope", "desk", "--name", ""), "--name"),
        (("--scope", "desk", "--name", "a\nb"), "--name"),
        (("--scope", "desk", "--name", "x" * 101), "--name"),
        (("--scope", "desk", "--name", "x", "--days", "0"), "--days"),
        (("--scope", "desk", "--name", "x", "--days", "-1"), "--days"),
        (("--scope", "desk", "--name", "x", "--days", "9" * 12), "--days"),
        (("--scope", "desk", "--name", "x", "--days", "soon"), "--days"),
        (("--scope", "form", "--name", "x"), "--origin: a form's key needs the sites it is for"),
        (("--scope", "desk", "--name", "x", "--origin", "https://shop.example"), "--origin: only a form's key has one"),
        (("--scope", "form", "--name", "x", "--origin", "https://shop.example/a"), "https://shop.example would be"),
    ],
)
def test_a_key_that_makes_no_sense_is_not_made(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], options: tuple[str, ...], said: str
):
    """The wrong option is named."""
    assert said in usage_of_wrong(capsys, "key", "new", "--database", tmp_path / "quoter.db", *options)[-1]
    assert not (tmp_path / "quoter.db").exists()


def test_a_file_that_is_no_database_is_left_alone(tmp_path: Path):
    """One line, with its name."""
    path = tmp_path / "quoter.db"
    path.write_text("no database " * 1000)
    (line,) = refused(quoter("key", "list", "--database", path), 1)
    assert line == f"{path}: the database cannot be used: file is not a database"


def test_wrong_settings_are_all_named_at_once(tmp_path: Path):
    """Before anything is opened."""
    settings = {"QUOTER_PORT": "eighty", "QUOTER_THREADS": "0", "QUOTER_DATABASE": str(tmp_path / "quoter.db")}
    lines = refused(quoter("key", "list", **settings), 2)
    assert [line.partition("=")[0] for line in lines] == ["QUOTER_PORT", "QUOTER_THREADS"]
    assert not (tmp_path / "quoter.db").exists()


def test_a_reader_who_has_seen_enough_is_no_fault():
    """As with `quoter openapi | head -1`."""
    with subprocess.Popen(
        command("openapi"), stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment()
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        assert process.stderr.read() == b""
    assert process.returncode == 1
