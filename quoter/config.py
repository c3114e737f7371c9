"""The settings of the service: each with its name, default and help, read once at the start."""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Settings:
    """How the service runs. Each is set by QUOTER_ and its name in capitals, or by an option of `quoter serve`."""

    database: Path = Path("var/quoter.db")
    """The SQLite file that keeps quotes, keys and book versions."""
    books: tuple[Path, ...] = ()
    """Folders of the rate books to price from; the first is the one that counts where none is named."""
    host: str = "127.0.0.1"
    """The address to listen on."""
    port: int = 8080
    """The port to listen on."""
    threads: int = 8
    """How many requests are worked on at a time."""
    max_body_bytes: int = 2_000_000
    """The largest request body."""


HELP = {
    "database": "the SQLite file that keeps quotes, keys and book versions",
    "books": "folders of the rate books to price from, separated by colons; the first counts where none is named",
    "host": "the address to listen on",
    "port": "the port to listen on",
    "threads": "how many requests are worked on at a time",
    "max_body_bytes": "the largest request body, in bytes",
}


class WrongSettings(Exception):
    """Every setting that is wrong, with what would be right."""


def settings_from(environment: Mapping[str, str]) -> Settings:
    """The settings in an environment. Raises WrongSettings naming all that are wrong at once."""
    given = {
        setting.name: environment[f"QUOTER_{setting.name.upper()}"]
        for setting in fields(Settings)
        if environment.get(f"QUOTER_{setting.name.upper()}")
    }
    wrong = [f"QUOTER_{name.upper()}={text!r}: not a whole number above 0" for name, text in _not_whole(given)]
    if wrong:
        raise WrongSettings("\n".join(wrong))
    values: dict[str, object] = {name: _value(name, text) for name, text in given.items()}
    return Settings(**values)  # type: ignore[arg-type]


WHOLE = ("port", "threads", "max_body_bytes")


def _not_whole(given: Mapping[str, str]) -> list[tuple[str, str]]:
    return [
        (name, given[name]) for name in WHOLE if name in given and not (given[name].isdecimal() and int(given[name]))
    ]


def _value(name: str, text: str) -> object:
    if name in WHOLE:
        return int(text)
    if name == "books":
        return tuple(Path(folder) for folder in text.split(":") if folder)
    return Path(text) if name == "database" else text
