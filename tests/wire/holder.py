"""`python holder.py PORT COUNT` opens so many connections, says so, and holds them until its input ends."""

import socket
import sys

if sys.platform != "win32":
    import resource

    _, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (hard, hard))

held = [socket.create_connection(("127.0.0.1", int(sys.argv[1])), timeout=60) for _ in range(int(sys.argv[2]))]
print("open", flush=True)
sys.stdin.read()
