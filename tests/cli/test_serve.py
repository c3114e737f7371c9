"""`quoter serve`: says where it is and how to get in, answers, and ends without cutting anybody off."""

import http.client
import json
import signal
import socket
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from .running import BALLYQUARN, BATTERY, PATIENCE_SECONDS, RATES, quoter, refused, served

if not hasattr(signal, "SIGTERM"):
    pytest.skip("signals as POSIX has them", allow_module_level=True)

BOOKS = f"{BALLYQUARN}:{RATES / 'peddrick-mills'}"


def own_origins(port: int) -> list[tuple[str, int]]:
    """Where the demo's form may stand, and where not."""
    return [(f"http://127.0.0.1:{port}", 200), (f"http://localhost:{port}", 200), ("https://shop.example", 403)]


def all_of_the_answer(connection: http.client.HTTPConnection) -> tuple[int, Any]:
    """Status and body."""
    response = connection.getresponse()
    return response.status, json.loads(response.read())


def test_the_demo_prints_keys_that_work(tmp_path: Path):
    """One of each scope, and a first command to try; a second start ends them, one without a demo too."""
    keys: list[dict[str, str]] = []
    for _ in range(2):
        with served(tmp_path / "quoter.db", "--demo", "--book", BALLYQUARN, lines=6) as service:
            keys.append(dict(line.split() for line in service.greeting[2:5]))
            assert service.ask("/v1/quotes", keys[-1]["owner"], BATTERY)[0] == 201
            assert service.ask("/v1/quotes", keys[-1]["desk"])[0] == 200
            for origin, status in own_origins(service.port):
                assert service.ask("/v1/prices", keys[-1]["form"], BATTERY, Origin=origin)[0] == status
            assert service.ask("/v1/devices", keys[0]["desk"])[0] == (200 if len(keys) == 1 else 401)
            assert f"Bearer {keys[-1]['desk']}' http://127.0.0.1:{service.port}/v1/devices" in service.greeting[5]
            assert service.stop() == 0
    assert set(keys[0]) == {"owner", "desk", "form"}
    with served(tmp_path / "quoter.db", "--book", BALLYQUARN) as service:
        assert service.ask("/v1/devices", keys[1]["owner"])[0] == 401
    with served(tmp_path / "quoter.db", "--demo", "--book", BALLYQUARN, lines=6) as service:
        keys.append(dict(line.split() for line in service.greeting[2:5]))
    listed = quoter("key", "list", "--all", "--database", tmp_path / "quoter.db").stdout.splitlines()
    assert {line.split()[0] for line in listed} == {key.split("_")[1] for key in keys[2].values()}
    assert all("until the next start of the demo" in line for line in listed)


def test_without_demo_it_says_how_to_make_a_key(tmp_path: Path):
    """And takes its books from the environment; a key that is made meanwhile counts at once."""
    with served(tmp_path / "quoter.db", QUOTER_BOOKS=BOOKS) as service:
        assert "quoter key new" in service.greeting[1]
        made = quoter("key", "new", "--scope", "desk", "--name", "x", "--database", tmp_path / "quoter.db")
        for book, currency in (("ballyquarn", "EUR"), ("peddrick-mills", "USD")):
            status, price = service.ask(f"/v1/prices?book={book}", made.stdout.strip(), BATTERY)
            assert (status, price["currency"]) == (200, currency)
        assert service.stop() == 0


def test_a_request_that_is_being_answered_is_answered_to_its_end(tmp_path: Path):
    """Hundreds of jobs, megabytes of answer, while the service is told to stop."""
    with served(tmp_path / "quoter.db", "--demo", "--book", BALLYQUARN, lines=6) as service:
        key = service.greeting[3].split()[1]
        with (
            ThreadPoolExecutor(1) as pool,
            closing(http.client.HTTPConnection("127.0.0.1", service.port, timeout=PATIENCE_SECONDS)) as connection,
        ):
            headers = {"Authorization": f"Bearer {key}", "Content-Type": "application/json"}
            connection.request("POST", "/v1/prices", json.dumps([BATTERY] * 400), headers)
            answered = pool.submit(all_of_the_answer, connection)
            for _ in range(20):  # the service answers these while it works on that one, so it has read it
                assert service.ask("/healthz")[0] == 200
            assert service.stop() == 0
            status, prices = answered.result()
        assert (status, len(prices)) == (200, 400)
        with pytest.raises(ConnectionRefusedError):
            service.ask("/healthz")


def test_a_port_that_is_taken(tmp_path: Path):
    """One line that says so, and what to try."""
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        options = ("--port", port, "--book", BALLYQUARN, "--database", tmp_path / "quoter.db")
        (line,) = refused(quoter("serve", *options), 1)
    assert line == f"127.0.0.1:{port}: the service cannot listen there: Address already in use; try another --port"


@pytest.mark.parametrize("host", ["not/a/host", "203.0.113.7", "ä" * 64])
def test_a_host_that_is_none_of_this_machine(tmp_path: Path, host: str):
    """No port would help: no name, an address for examples (RFC 5737, section 3), and a name that is too long.

    Of the last one Python itself leaves a socket open, which is not what is tried here.
    """
    options = ("--host", host, "--port", 0, "--book", BALLYQUARN, "--database", tmp_path / "quoter.db")
    (line,) = refused(quoter("serve", *options, PYTHONWARNINGS="ignore::ResourceWarning"), 1)
    assert line.startswith(f"{host}:0: the service cannot listen there: ")
    assert line.endswith("; try another --host")


def test_folders_that_are_not_there_are_named_before_a_database_is_made(tmp_path: Path):
    """Each as it was given."""
    nowhere, gone, database = tmp_path / "nowhere", tmp_path / "gone", tmp_path / "quoter.db"
    options = ("--book", nowhere, "--book", BALLYQUARN, "--book", gone, "--database", database)
    first, *lines = refused(quoter("serve", *options), 1)
    assert first == "2 faults:"
    for line, folder in zip(lines, (nowhere, gone), strict=True):
        assert line.startswith(f"book: '{folder}': there is no such folder (")
    assert not database.exists()


@pytest.mark.parametrize(
    ("options", "status", "said"),
    [
        ((), 2, "There is no rate book yet: name one with --book DIR or QUOTER_BOOKS."),
        (("--book", "none"), 1, "there is no such folder"),
        (("--book", BALLYQUARN, "--book", BALLYQUARN), 1, "another book has it"),
        (("--book", BALLYQUARN, "--host", "256.0.0.1"), 1, "cannot listen there"),
        (("--book", BALLYQUARN, "--database", RATES), 1, "this is a folder; name a file in it"),
    ],
)
def test_what_keeps_the_service_from_starting(tmp_path: Path, options: tuple[object, ...], status: int, said: str):
    """Is said, and nothing else."""
    lines = refused(quoter("serve", "--database", tmp_path / "quoter.db", *options), status)
    assert any(said in line for line in lines)


@pytest.mark.parametrize("port", ["65536", "-1", "http", ""])
def test_a_port_that_is_none(tmp_path: Path, port: str):
    """Is not even tried."""
    done = quoter("serve", "--book", BALLYQUARN, "--database", tmp_path / "quoter.db", f"--port={port}")
    assert refused(done, 2) == [f"--port {port}: not a whole number from 0 to 65535"]


def test_wrong_settings_are_all_named_at_once(tmp_path: Path):
    """With what would be right."""
    settings = {"QUOTER_PORT": "65536", "QUOTER_THREADS": "many", "QUOTER_MAX_BODY_BYTES": "0", "QUOTER_HOST": "x"}
    lines = refused(quoter("serve", "--book", BALLYQUARN, "--database", tmp_path / "quoter.db", **settings), 2)
    assert lines == [
        "QUOTER_PORT='65536': not a whole number from 0 to 65535",
        "QUOTER_THREADS='many': not a whole number from 1 to 1000",
        "QUOTER_MAX_BODY_BYTES='0': not a whole number from 1 to 64000000",
    ]


def test_the_largest_body_is_a_setting(tmp_path: Path):
    """More is refused."""
    with served(
        tmp_path / "quoter.db", "--demo", "--book", BALLYQUARN, lines=6, QUOTER_MAX_BODY_BYTES="200"
    ) as service:
        key = service.greeting[3].split()[1]
        assert service.ask("/v1/prices", key, BATTERY)[0] == 200
        assert service.ask("/v1/prices", key, BATTERY | {"device": "x" * 200})[0] == 413


def test_a_file_of_settings_is_enough(tmp_path: Path):
    """Named by an option or in the environment, also for the commands on what is kept."""
    file, database = tmp_path / "settings.toml", tmp_path / "quoter.db"
    file.write_text(f'books = ["{BALLYQUARN}"]\nmax_body_bytes = 200\ndatabase = "{tmp_path / "other.db"}"\n')
    with served(database, "--settings", file) as service:
        made = quoter("key", "new", "--scope", "desk", "--name", "x", "--database", database, QUOTER_SETTINGS=str(file))
        assert service.ask("/v1/prices", made.stdout.strip(), BATTERY)[0] == 200
        assert service.ask("/v1/prices", made.stdout.strip(), BATTERY | {"device": "x" * 200})[0] == 413
    assert not (tmp_path / "other.db").exists()
    assert quoter("key", "list", "--settings", file).returncode == 0
    assert (tmp_path / "other.db").exists()


def test_the_settings_are_printed_as_a_file_of_settings(tmp_path: Path):
    """With where each comes from; what is printed reads as the same."""
    first = tmp_path / "first.toml"
    first.write_text("threads = 3\n")
    options = ("--settings", first, "--host", "::1", "--book", "a", "--book", "b c")
    printed = quoter("settings", *options, QUOTER_WEBHOOK_NETWORKS="10.0.0.0/8 fd00::/8")
    assert (printed.returncode, printed.stderr) == (0, "")
    for origin, line in [
        (f"{first}, line 1", "threads = 3"),
        ("--host", 'host = "::1"'),
        ("QUOTER_WEBHOOK_NETWORKS", "webhook_networks = ["),
        ("--book", "books = ["),
        ("default", "port = 8080"),
    ]:
        assert f"# from: {origin}\n{line}\n" in printed.stdout
    (tmp_path / "second.toml").write_text(printed.stdout)
    again = quoter("settings", "--settings", tmp_path / "second.toml").stdout
    assert [line for line in again.splitlines() if not line.startswith("# from")] == [
        line for line in printed.stdout.splitlines() if not line.startswith("# from")
    ]


def test_the_option_of_a_file_that_there_is_not(tmp_path: Path):
    """One line."""
    (line,) = refused(quoter("serve", "--settings", tmp_path / "none.toml"), 2)
    assert line == f"{tmp_path / 'none.toml'}: the settings cannot be read: No such file or directory"
