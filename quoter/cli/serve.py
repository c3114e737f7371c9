"""quoter serve: starts the service. quoter settings: prints what it would start with."""

import argparse
from typing import Any

from quoter.cli.arguments import add_database, configured_by, settings_of
from quoter.config import HELP, NAMES, option, plain, variable

_ELSEWHERE = ("database", "books")
"""Settings whose options are not of one kind with the others."""


def add_parser(commands: Any) -> None:
    """Declares the commands."""
    serve = commands.add_parser(
        "serve",
        help="start the service",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog="each setting also by a variable of the environment, which an option overrides:\n" + _settings_help(),
    )
    _add_settings(serve)
    serve.add_argument("--demo", action="store_true", help="make new demo keys, end the old ones, and show them")
    serve.set_defaults(command=_serve)
    settings = commands.add_parser("settings", help="print every setting, where it comes from and what it means")
    _add_settings(settings)
    settings.set_defaults(command=_print)


def _add_settings(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--book", action="append", metavar="DIR", help="a rate book; may be repeated")
    add_database(parser)
    for name in NAMES:
        if name not in _ELSEWHERE:
            parser.add_argument(option(name), metavar=name.rpartition("_")[2].upper(), help=HELP[name])


def _settings_help() -> str:
    return "\n".join(f"  {variable(name)}" for name in NAMES)


def _serve(options: argparse.Namespace) -> int:
    from quoter.serving import serve

    return serve(settings_of(options), demo=options.demo)


def _print(options: argparse.Namespace) -> int:
    """As a file of settings, which may be kept as one."""
    import tomli_w

    found = configured_by(options)
    for name in NAMES:
        line = tomli_w.dumps({name: plain(getattr(found.settings, name))})
        print(f"# {HELP[name]}\n# from: {found.origins[name]}\n{line}")
    return 0
