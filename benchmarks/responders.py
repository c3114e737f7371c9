"""What the service is compared with: `python -m benchmarks.responders KIND FILE` says its port and answers every POST.

`bare` is a Flask route that reads the body and returns the bytes of FILE, under the server and settings of
`quoter serve`. `trivial` is no server at all: it sends those bytes for whatever comes, to see how fast the client is.
"""

import selectors
import socket
import sys
from pathlib import Path

from flask import Flask, Response, request

from quoter.config import Settings
from quoter.serving import server_for


def bare(content: bytes, listening: socket.socket) -> None:
    """Until it is ended."""
    app = Flask("bare")

    @app.post("/")
    def same() -> Response:
        request.get_data()
        return Response(content, content_type="application/json")

    _, connections = server_for(app, listening, Settings())
    while True:
        connections.turn(1)


def trivial(content: bytes, listening: socket.socket) -> None:
    """A request that comes in one piece is answered by one."""
    reply = f"HTTP/1.1 200 OK\r\nContent-Length: {len(content)}\r\n\r\n".encode() + content
    waiting = selectors.DefaultSelector()
    waiting.register(listening, selectors.EVENT_READ)
    while True:
        for key, _ in waiting.select():
            if key.fileobj is listening:
                caller, _ = listening.accept()
                caller.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
                waiting.register(caller, selectors.EVENT_READ, caller)
            elif key.data.recv(1 << 16):
                key.data.sendall(reply)
            else:
                waiting.unregister(key.data)
                key.data.close()


KINDS = {"bare": bare, "trivial": trivial}

if __name__ == "__main__":
    with socket.create_server(("127.0.0.1", 0), backlog=128) as door:
        print(f"http://127.0.0.1:{door.getsockname()[1]}", flush=True)
        KINDS[sys.argv[1]](Path(sys.argv[2]).read_bytes(), door)
