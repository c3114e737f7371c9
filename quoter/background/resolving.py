"""The network addresses of a name, as this machine finds them."""

import socket


def resolved(name: str, port: int) -> list[str]:
    """All of them, the one to try first before others. Raises OSError where there is none."""
    found = socket.getaddrinfo(name, port, type=socket.SOCK_STREAM)
    return [str(each[4][0]) for each in found]
