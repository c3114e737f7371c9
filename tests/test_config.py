"""Settings: each with a default and a help, read once from what is given."""

import os
from dataclasses import fields, replace
from ipaddress import ip_network
from pathlib import Path

import pytest
import tomli_w

from quoter.config import NAMES, Settings, configured, option, plain, settings_from, variable
from quoter.setting_kinds import WrongSettings

GIVEN = {
    "database": ("/srv/q.db", Path("/srv/q.db")),
    "books": (os.pathsep.join(("a", "", "b c")), (Path("a"), Path("b c"))),
    "host": ("0.0.0.0", "0.0.0.0"),
    "port": ("0", 0),
    "threads": ("3", 3),
    "connections": ("500", 500),
    "log": ("requests", "requests"),
    "log_format": ("json", "json"),
    "enquiries_per_hour": ("4", 4),
    "enquiries_per_day": ("50", 50),
    "max_body_bytes": ("1", 1),
    "form_requests_a_minute": ("30", 30),
    "form_key_requests_a_minute": ("300", 300),
    "wrong_keys_a_minute": ("3", 3),
    "trusted_proxy": ("2001:DB8:0::1", "2001:db8::1"),
    "keep_contact_days": ("0", 0),
    "webhook_networks": ("127.0.0.0/8  fd00::/8", (ip_network("127.0.0.0/8"), ip_network("fd00::/8"))),
    "public_address": ("https://quotes.example.org/shop/", "https://quotes.example.org/shop"),
}


def test_without_environment_the_defaults_count():
    """Also where a variable is empty, or is none of ours."""
    assert settings_from({}) == Settings()
    assert settings_from({"QUOTER_PORT": "", "PORT": "9", "QUOTER": "x", "quoter_x": "y"}) == Settings()


@pytest.mark.parametrize("setting", fields(Settings), ids=lambda setting: setting.name)
def test_every_setting_has_a_help_and_is_read_from_the_environment(setting: object):
    """By its name in capitals."""
    text, value = GIVEN[setting.name]
    assert setting.metadata["help"]
    assert settings_from({f"QUOTER_{setting.name.upper()}": text}) == replace(Settings(), **{setting.name: value})
    assert variable(setting.name) == f"QUOTER_{setting.name.upper()}"


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("port", "65536"),
        ("port", "-1"),
        ("port", "http"),
        ("port", "8080 "),
        ("threads", "0"),
        ("threads", "1001"),
        ("threads", "1.5"),
        ("keep_contact_days", "-1"),
        ("keep_contact_days", "36501"),
        ("max_body_bytes", "0"),
        ("max_body_bytes", "64000001"),
        ("max_body_bytes", "9" * 5000),
        ("max_body_bytes", "²"),
    ],
)
def test_a_number_that_is_none_is_refused(name: str, text: str):
    """With the variable, what it says and what would be right."""
    with pytest.raises(WrongSettings, match=f"^{variable(name)}=.*not a whole number from "):
        settings_from({variable(name): text})


@pytest.mark.parametrize(
    ("name", "least", "most"),
    [
        ("port", "0", "65535"),
        ("threads", "1", "1000"),
        ("max_body_bytes", "1", "64000000"),
        ("keep_contact_days", "0", "36500"),
    ],
)
def test_the_ends_of_a_range_belong_to_it(name: str, least: str, most: str):
    """Both sides of both boundaries: the others are refused above."""
    assert [getattr(settings_from({variable(name): text}), name) for text in (least, most)] == [int(least), int(most)]


@pytest.mark.parametrize("text", ["quotes.example.org", "ftp://example.org", "https://", "https://a b", "https://a?b"])
def test_an_address_that_is_none_is_refused(text: str):
    """Customers would be sent nowhere."""
    with pytest.raises(WrongSettings, match=r"^QUOTER_PUBLIC_ADDRESS=.*not an address such as"):
        settings_from({variable("public_address"): text})


@pytest.mark.parametrize("text", ["*", "127.0.0.1"])
def test_a_proxy_is_an_address_or_whoever_connects(text: str):
    """As the server compares it."""
    assert settings_from({variable("trusted_proxy"): text}).trusted_proxy == text


@pytest.mark.parametrize("text", ["localhost", "127.0.0.1:80", "10.0.0.0/8", "**", " "])
def test_a_proxy_that_is_no_address_is_refused(text: str):
    """It would never be believed."""
    with pytest.raises(WrongSettings, match=r"^QUOTER_TRUSTED_PROXY=.*not a network address such as"):
        settings_from({variable("trusted_proxy"): text})


@pytest.mark.parametrize("text", ["10.0.0.1/8", "localhost", "10.0.0.0/8,127.0.0.0/8", "::/129"])
def test_a_network_that_is_none_is_refused(text: str):
    """A slip must not open more than was meant."""
    with pytest.raises(WrongSettings, match=r"^QUOTER_WEBHOOK_NETWORKS=.*: '.*' is not a network such as"):
        settings_from({variable("webhook_networks"): text})


@pytest.mark.parametrize(
    ("name", "given", "right"),
    [
        ("log", "all", "not one of problems, requests"),
        ("log_format", "JSON", "not one of text, json"),
        ("host", "a b", "not a word without blanks"),
        ("database", "a\0b", "not the path of a file"),
    ],
)
def test_what_else_is_refused(name: str, given: str, right: str):
    """With what would be right."""
    with pytest.raises(WrongSettings) as wrong:
        settings_from({variable(name): given})
    assert str(wrong.value) == f"{variable(name)}={given!r}: {right}"


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """Where a test keeps its settings."""
    return tmp_path / "settings.toml"


def wrong_in(file: Path, content: str) -> list[str]:
    """What is said of a file, without where it is."""
    file.write_bytes(content.encode("utf-8", "surrogateescape"))
    with pytest.raises(WrongSettings) as wrong:
        configured({}, file=file)
    return str(wrong.value).replace(str(file), "FILE").splitlines()


def test_options_count_before_the_environment_and_that_before_the_file(file: Path):
    """Of three values the strongest counts, and where it comes from is known."""
    file.write_text("# ours\n\nthreads = 2\nport = 2\nhost = 'a.example'\n")
    environment = {"QUOTER_SETTINGS": str(file), "QUOTER_PORT": "3", "QUOTER_HOST": "b.example"}
    found = configured(environment, {"host": "c.example"})
    assert found.settings == Settings(threads=2, port=3, host="c.example")
    assert {name: place for name, place in found.origins.items() if place != "default"} == {
        "threads": f"{file}, line 3",
        "port": "QUOTER_PORT",
        "host": "--host",
    }
    assert settings_from(environment) == Settings(threads=2, port=3, host="b.example")


def test_the_file_that_is_named_by_an_option_counts_alone(file: Path):
    """The one of the environment is not even opened."""
    file.write_text("port = 2\n")
    assert configured({"QUOTER_SETTINGS": "/none"}, file=file).settings.port == 2


@pytest.mark.parametrize("name", NAMES)
def test_every_setting_is_read_from_a_file_as_it_is_written_into_one(file: Path, name: str):
    """Lists as lists, numbers as numbers."""
    value = GIVEN[name][1]
    file.write_text(tomli_w.dumps({name: plain(value)}))
    assert configured({}, file=file).settings == replace(Settings(), **{name: value})


@pytest.mark.parametrize("name", NAMES)
def test_what_is_blank_in_a_file_is_the_default(file: Path, name: str):
    """As in the environment."""
    file.write_text(f"{name} = ''")
    found = configured({}, file=file)
    assert (found.settings, found.origins[name]) == (Settings(), "default")


def test_all_that_is_wrong_is_named_at_once_with_its_place(file: Path):
    """Of the file, the environment and the options, also what something stronger overrides."""
    file.write_text("books = [\n  'a',\n]\n'port' = 'http'\r\nthreads = true\nprot = 1\nlog = 1.5\n[host]\nport = 1\n")
    environment = {"QUOTER_PORT": "x", "QUOTER_THREDS": "1", "QUOTER_ZZZ": "", "QUOTER_SETTINGS": str(file)}
    with pytest.raises(WrongSettings) as wrong:
        configured(environment, {"port": "70000", "books": ["a"]})
    assert str(wrong.value).replace(str(file), "FILE").splitlines() == [
        "FILE, line 4: port = 'http': not a whole number from 0 to 65535",
        "FILE, line 5: threads = True: not a whole number from 1 to 1000",
        "FILE, line 6: prot: not a setting; the nearest is port",
        "FILE, line 7: log = 1.5: not one of problems, requests",
        "FILE, line 8: host = {'port': 1}: not a word without blanks",
        "QUOTER_PORT='x': not a whole number from 0 to 65535",
        "QUOTER_THREDS: not a setting; the nearest is QUOTER_THREADS",
        "QUOTER_ZZZ: not a setting; `quoter settings` prints all",
        "--port 70000: not a whole number from 0 to 65535",
    ]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("port = 1\nport = 2", "FILE: not TOML: Cannot overwrite a value (at end of document)"),
        ("port 1\nhost = 2", "FILE: not TOML: Expected '=' after a key in a key/value pair (at line 1, column 6)"),
        ("host = '\udcff'", "FILE: not TOML: 'utf-8' codec can't decode byte 0xff in position 8: invalid start byte"),
        ("books = 3", "FILE, line 1: books = 3: not a list"),
        ("books = [3]", "FILE, line 1: books = [3]: not the path of a file"),
        ('x = """\nport = 1\n"""\nport = -1', "FILE, line 4: port = -1: not a whole number from 0 to 65535"),
    ],
)
def test_a_file_that_is_none(file: Path, content: str, said: str):
    """Is said to be none; where the line is known, with it."""
    assert said in wrong_in(file, content)


def test_a_file_that_there_is_not(file: Path):
    """Is no reason to begin without it."""
    with pytest.raises(WrongSettings, match=r"settings\.toml: the settings cannot be read: No such file"):
        configured({"QUOTER_SETTINGS": str(file)})


def test_every_setting_has_an_option_of_its_own():
    """Those of books are given one by one."""
    assert [option(name) for name in ("books", "max_body_bytes")] == ["--book", "--max-body-bytes"]
    assert len({option(name) for name in NAMES}) == len(NAMES)
