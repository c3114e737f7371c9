"""quoter serve: starts the service."""

import argparse
from dataclasses import fields
from pathlib import Path
from typing import Any

from quoter.cli.arguments import add_database, settings_of, whole
from quoter.config import WHOLE, Settings, variable


def add_parser(commands: Any) -> None:
    """Declares the command."""
    serve = commands.add_parser(
        "serve",
        help="start the service",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog="settings in the environment, which an option overrides:\n" + _settings_help(),
    )
    serve.add_argument("--book", type=Path, action="append", metavar="DIR", help="a rate book; may be repeated")
    add_database(serve)
    serve.add_argument("--host", help="the address to listen on")
    serve.add_argument("--port", type=whole(WHOLE["port"]), help="the port to listen on; 0 takes one that is free")
    serve.add_argument("--demo", action="store_true", help="make new demo keys, end the old ones, and show them")
    serve.set_defaults(command=_serve)


def _settings_help() -> str:
    return "\n".join(f"  {variable(setting.name)}: {setting.metadata['help']}" for setting in fields(Settings))


def _serve(options: argparse.Namespace) -> int:
    from quoter.serving import serve

    return serve(settings_of(options), demo=options.demo)
