"""The other commands: check a book, look after keys, print the description, and help with all of it."""

import argparse
import re
import subprocess
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from quoter.cli.main import COMMANDS as MODULES
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
    assert not path or re.search(rf"^ +{path[-1]}\s+\w+", help_of(*path[:-1]), re.MULTILINE)


def test_a_command_is_declared_by_the_module_that_is_imported_for_it():
    """No other is imported for it, and it is the same command as among all."""
    assert set(MODULES) == {path[0] for path in COMMANDS if path}
    for name in MODULES:
        alone = [path for path in commands(parser(name)) if path[:1] == (name,)]
        assert alone == [path for path in COMMANDS if path[:1] == (name,)]


def test_the_version_is_that_of_the_package():
    """Whoever reports a fault is asked for it."""
    package = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    done = quoter("--version")
    assert (done.returncode, done.stdout, done.stderr) == (0, f"quoter {package['version']}\n", "")


@pytest.mark.parametrize("arguments", [(), ("fly",), ("key",), ("key", "new"), ("book", "fly")])
def test_an_unfinished_command_is_wrong(capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...]):
    """And told how it goes on."""
    assert usage_of_wrong(capsys, *arguments)[0].startswith("usage: quoter")


@pytest.mark.parametrize("book", ["ballyquarn", "peddrick-mills"])
def test_a_sound_book_has_no_faults(book: str):
    """Said so."""
    done = quoter("book", "check", RATES / book)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "no faults\n")


def test_every_fault_of_a_book_is_printed(tmp_path: Path):
    """One a line, and their number."""
    (tmp_path / "book.toml").write_text('code = "x"\n')
    done = quoter("book", "check", tmp_path)
    faults = done.stdout.splitlines()
    assert (done.returncode, done.stderr) == (1, f"{len(faults)} faults\n")
    assert any(fault.startswith("devices") for fault in faults)


def test_the_description_is_printed():
    """Byte for byte as it is committed."""
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
    revoked = quoter("key", "revoke", "--database", database, key_id)
    assert (revoked.returncode, revoked.stdout, revoked.stderr) == (0, "", f"Key {key_id} counts no more.\n")
    shown = quoter("key", "list", "--database", database)
    assert (shown.stdout, shown.stderr) == ("", "1 revoked key is not shown; --all shows it.\n")
    assert "revoked 2" in quoter("key", "list", "--all", "--database", database).stdout
    (line,) = refused(quoter("key", "revoke", "--database", database, key_id), 1)
    assert line == f"there is no key in use '{key_id}'"


def listed(database: Path) -> dict[str, str]:
    """Lines of the list by the key's id."""
    lines = quoter("key", "list", "--database", database).stdout.splitlines()
    return {line.partition("  ")[0]: line for line in lines}


def test_a_forms_key_is_made_changed_and_rotated(tmp_path: Path):
    """The list shows its sites as browsers write them, its end, and what took whose place; never a secret."""
    database = tmp_path / "quoter.db"
    options = ("--scope", "form", "--origin", "https://Shop.example:443", "--origin", "http://localhost:8080")
    old = new_key(database, *options, "--expires", "2999-01-31").split("_")[1]
    assert "until 2999-02-01T00:00:00" in listed(database)[old]
    assert listed(database)[old].endswith("  never used  for https://shop.example http://localhost:8080")
    changed = quoter("key", "change", "--database", database, old, "--origin", "https://new.example")
    assert (changed.returncode, changed.stderr.strip()) == (
        0,
        f"Key {old} counts for https://new.example, and for no other site.",
    )
    rotated = quoter("key", "rotate", "--database", database, old, "--overlap-hours", "0", "--days", "30")
    (presented,) = rotated.stdout.splitlines()
    assert f"Key {old}, whose place it takes, counts until 2" in rotated.stderr
    new, secret = presented.split("_", 2)[1:]
    lines = listed(database)
    assert f"for https://new.example  in the place of {old}" in lines[new]
    assert "until 2" in lines[new]
    assert "over since 2" in lines[old]
    assert secret not in str(lines)
    (line,) = refused(quoter("key", "rotate", "--database", database, old), 1)
    assert line == f"there is no key in use '{old}'"


def test_a_key_that_was_rotated_goes_on_for_a_day(tmp_path: Path):
    """Where nobody says otherwise; and is not rotated again."""
    database = tmp_path / "quoter.db"
    old = new_key(database, "--scope", "desk").split("_")[1]
    assert quoter("key", "rotate", "--database", database, old).returncode == 0
    assert "until 2" in listed(database)[old]
    (line,) = refused(quoter("key", "rotate", "--database", database, old), 1)
    assert line == f"the key {old} has been rotated already; rotate the one that took its place"


def test_only_a_forms_key_is_tied_to_sites(tmp_path: Path):
    """Said so."""
    database = tmp_path / "quoter.db"
    desk = new_key(database, "--scope", "desk").split("_")[1]
    (line,) = refused(quoter("key", "change", "--database", database, desk, "--origin", "https://shop.example"), 1)
    assert line == f"the key {desk} is of scope desk; only a form's key is tied to sites"


def test_keys_are_kept_where_the_environment_says(tmp_path: Path):
    """As for the service."""
    database = str(tmp_path / "quoter.db")
    done = quoter(
        "key", "new", "--scope", "form", "--name", "site", "--origin", "https://shop.example", QUOTER_DATABASE=database
    )
    assert done.returncode == 0
    assert done.stderr.splitlines()[-1] == f"It is kept in {database}; it counts at a service with this database."
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
        (("--scope", "desk", "--name", "x", "--days", "1", "--expires", "2999-01-31"), "not allowed with"),
        (("--scope", "desk", "--name", "x", "--expires", "2020-01-31"), "--expires: 2020-02-01T00:00:00+00:00 is over"),
        (("--scope", "desk", "--name", "x", "--expires", "2999-01-31T10:00"), "--expires"),
        (("--scope", "desk", "--name", "x", "--expires", "9999-12-31"), "--expires"),
        (("--scope", "desk", "--name", "x", "--expires", "soon"), "--expires"),
        (("--scope", "desk", "--name", "x", "--expires", "31.1.2030"), "neither a day such as 2027-01-31 nor a moment"),
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
