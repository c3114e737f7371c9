"""The settings of the service: each declared once, read at the start from options, the environment and a file.

A new setting is one line of `Settings`. What is given as an option counts before the environment, that before the file.
"""

import ipaddress
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, fields
from difflib import get_close_matches
from itertools import chain
from pathlib import Path
from typing import Any

from quoter.logs import FORMATS, LEVELS
from quoter.setting_kinds import (
    NotRead,
    Reader,
    WrongSettings,
    address,
    folders,
    many,
    network,
    one_of,
    path,
    proxy,
    text,
    whole,
)

FILE = "QUOTER_SETTINGS"
"""The environment variable that names the file."""

DEFAULT = "default"


def _setting(default: object, reads: Reader, help: str) -> Any:  # noqa: A002 - as argparse calls it
    return field(default=default, metadata={"reads": reads, "help": help})


@dataclass(frozen=True, slots=True)
class Settings:
    """How the service runs. Each is set by its name in a file, by QUOTER_ and its name in capitals, or by an option."""

    database: Path = _setting(Path("var/quoter.db"), path, "the SQLite file that keeps quotes, keys and book versions")
    books: tuple[Path, ...] = _setting(
        (),
        folders,
        "folders of rate books, a list; in the environment separated by colons (on Windows by semicolons); the first "
        "counts where none is named",
    )
    host: str = _setting("127.0.0.1", text, "the address to listen on")
    port: int = _setting(8080, whole(0, 65_535), "the port to listen on; 0 takes one that is free")
    threads: int = _setting(8, whole(1, 1_000), "how many requests are worked on at a time")
    connections: int = _setting(
        12_000, whole(10, 100_000), "how many connections may be open at a time; more wait until one makes room"
    )
    log: str = _setting(
        "problems", one_of(LEVELS), "what is logged: problems, which somebody must look at, or requests as well"
    )
    log_format: str = _setting("text", one_of(FORMATS), "how it is logged: text, or json, an object a line")
    public_address: str = _setting(
        "",
        address,
        "where customers reach the service, such as https://quotes.example.org; the address of the request if absent",
    )
    enquiries_per_hour: int = _setting(
        10, whole(1, 100_000), "how many enquiries are taken in an hour from one network address"
    )
    enquiries_per_day: int = _setting(
        200, whole(1, 1_000_000), "how many enquiries are taken in a day through one key of a form"
    )
    webhook_networks: tuple[ipaddress.IPv4Network | ipaddress.IPv6Network, ...] = _setting(
        (),
        many(network),
        "networks that webhooks may lead into although they are not of the open internet, a list; in the environment "
        "separated by blanks, such as 127.0.0.0/8 192.168.0.0/16; within them http will do",
    )
    max_body_bytes: int = _setting(2_000_000, whole(1, 64_000_000), "the largest request body, in bytes")
    form_requests_a_minute: int = _setting(
        60, whole(1, 1_000_000), "how often a visitor (a network address) may ask through the web form, a minute"
    )
    form_key_requests_a_minute: int = _setting(
        600, whole(1, 1_000_000), "how often all visitors together may ask with one form's key, a minute"
    )
    wrong_keys_a_minute: int = _setting(
        10, whole(1, 1_000_000), "how many wrong keys a network address may try, a minute"
    )
    trusted_proxy: str = _setting(
        "",
        proxy,
        "the address of the proxy in front, whose X-Forwarded-For, -Proto and -Host are believed; * where the service "
        "is reached only through one; none if absent",
    )
    keep_contact_days: int = _setting(
        180,
        whole(0, 36_500),
        "how long names, numbers and free texts of enquiries and of quotes that nobody agreed to are kept, in days; "
        "0 keeps them until somebody asks",
    )


NAMES = tuple(setting.name for setting in fields(Settings))
READERS: Mapping[str, Reader] = {setting.name: setting.metadata["reads"] for setting in fields(Settings)}
HELP: Mapping[str, str] = {setting.name: setting.metadata["help"] for setting in fields(Settings)}


@dataclass(frozen=True, slots=True)
class Configured:
    """The settings that count, and for each where it comes from."""

    settings: Settings
    origins: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class _Given:
    """One value at one place; `shown` is what stands there."""

    name: str
    value: object
    place: str
    shown: str


def variable(name: str) -> str:
    """The environment variable of a setting."""
    return f"QUOTER_{name.upper()}"


def option(name: str) -> str:
    """The option of a setting; that of books is given once for each."""
    return "--book" if name == "books" else f"--{name.replace('_', '-')}"


def settings_from(environment: Mapping[str, str]) -> Settings:
    """The settings in an environment, and in the file that it names. Raises WrongSettings."""
    return configured(environment).settings


def configured(
    environment: Mapping[str, str], options: Mapping[str, object] | None = None, file: Path | None = None
) -> Configured:
    """What counts of options, environment and file. Raises WrongSettings naming all that are wrong at once."""
    named = file or Path(environment.get(FILE, ""))
    wrong: list[str] = []
    values: dict[str, object] = {}
    origins = dict.fromkeys(NAMES, DEFAULT)
    sources = (_in_file(named, wrong) if named.name else (), _in_environment(environment, wrong), _in(options or {}))
    for given in chain.from_iterable(sources):
        try:
            values[given.name] = READERS[given.name](given.value)
            origins[given.name] = given.place
        except NotRead as error:
            wrong.append(f"{given.shown}: {error}")
    if wrong:
        raise WrongSettings("\n".join(wrong))
    return Configured(Settings(**values), origins)  # type: ignore[arg-type]


def _in(options: Mapping[str, object]) -> Iterator[_Given]:
    for name, value in options.items():
        yield _Given(name, value, option(name), f"{option(name)} {value}")


def _in_environment(environment: Mapping[str, str], wrong: list[str]) -> Iterator[_Given]:
    known = {variable(name): name for name in NAMES}
    for each, value in environment.items():
        if each in known and value:
            yield _Given(known[each], value, each, f"{each}={value!r}")
        elif each.startswith("QUOTER_") and each not in known and each != FILE:
            wrong.append(f"{each}: {_unknown(each, [*known, FILE])}")


def _in_file(file: Path, wrong: list[str]) -> Iterator[_Given]:
    try:
        content = file.read_bytes().decode().replace("\r\n", "\n")
        document = tomllib.loads(content)
    except OSError as error:
        wrong.append(f"{file}: the settings cannot be read: {error.strerror}")
        return
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        wrong.append(f"{file}: not TOML: {error}")
        return
    lines = _lines(content)
    for name, value in document.items():
        place = f"{file}, line {lines[name]}"
        if name not in NAMES:
            wrong.append(f"{place}: {name}: {_unknown(name, NAMES)}")
        elif value not in ("", []):
            yield _Given(name, value, place, f"{place}: {name} = {value!r}")


def _unknown(name: str, known: Iterable[str]) -> str:
    """Compared without what all variables begin with, which would make them all alike."""
    shown = {each.removeprefix("QUOTER_").lower(): each for each in known}
    near = get_close_matches(name.removeprefix("QUOTER_").lower(), shown, 1)
    return f"not a setting; {f'the nearest is {shown[near[0]]}' if near else '`quoter settings` prints all'}"


def _lines(content: str) -> dict[str, int]:
    """The line on which each outermost name of a TOML document begins; the standard library's reader says none."""
    found: dict[str, int] = {}
    statement, begins, within_table = "", 1, False
    for number, line in enumerate(content.split("\n"), start=1):
        statement += f"{line}\n"
        try:
            names = tomllib.loads(statement)
        except tomllib.TOMLDecodeError:
            continue  # a value over several lines
        within_table = within_table or re.match(r"\s*\[", statement) is not None
        if not within_table or statement.lstrip().startswith("["):
            for name in names:
                found.setdefault(name, begins)
        statement, begins = "", number + 1
    return found


def plain(value: object) -> Any:
    """The value of a setting as TOML has it."""
    if isinstance(value, tuple):
        return [str(each) for each in value]
    return value if isinstance(value, int) else str(value)
