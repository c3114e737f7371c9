"""Who asks, as the proxy in front says it: the last word of it alone, and only where it can be understood."""

from collections.abc import Callable
from typing import Any

from quoter.service.access.networks import address_of
from quoter.wire.requests import HOST

App = Callable[..., Any]

FORWARDED_FOR = "HTTP_X_FORWARDED_FOR"

HEADERS = ("x-forwarded-for", "x-forwarded-proto", "x-forwarded-host")
"""Who asks, whether over HTTPS, and by which name of the service."""


def believed(proxy: str) -> dict[str, Any]:
    """What the proxy in front says of who asks. From anybody else it could be a lie, and is dropped."""
    return {"trusted_proxy": proxy, "trusted_proxy_headers": set(HEADERS)} if proxy else {}


def knowing_who_asks(app: App) -> App:
    """The app, told the address that the proxy in front saw: waitress leaves its last word alone in the header, and
    drops what anybody else says, but takes what follows the last colon of ::ffff:192.0.2.1 for a port."""

    def asked(environ: dict[str, Any], start_response: Any) -> Any:
        if FORWARDED_FOR in environ:
            environ["REMOTE_ADDR"] = environ["REMOTE_HOST"] = address_of(environ[FORWARDED_FOR])
        return app(environ, start_response)

    return asked


def understandable(app: App) -> App:
    """The app behind waitress's own reading of these headers, which would fail at some of what a proxy passes on."""

    def asked(environ: dict[str, Any], start_response: Any) -> Any:
        for name, readable in READABLE.items():
            if name in environ:
                last = readable(environ[name].rpartition(",")[2].strip(" \t"))
                if last:
                    environ[name] = last
                else:
                    del environ[name]
        return app(environ, start_response)

    return asked


def _scheme(said: str) -> str:
    return said.lower() if said.lower() in ("http", "https") else ""


def _host(said: str) -> str:
    return said if HOST.fullmatch(said) else ""


READABLE: dict[str, Callable[[str], str]] = {
    FORWARDED_FOR: address_of,
    "HTTP_X_FORWARDED_PROTO": _scheme,
    "HTTP_X_FORWARDED_HOST": _host,
}
"""What is made of the last word in each; nothing where it cannot be understood."""
