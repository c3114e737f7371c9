"""The main flows over a real socket, through the server that is shipped and a client that is not our own."""

import http.client
import json
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path
from typing import Any, NamedTuple

import pytest
import waitress
from waitress import wasyncore

from quoter.api.http.services import services_of

from .running import BATTERY, SCREEN, Service, a_service


class Answer(NamedTuple):
    """What the client read."""

    status: int
    headers: http.client.HTTPMessage
    body: Any


class Client:
    """A program somewhere, with a key."""

    def __init__(self, port: int, key: str) -> None:
        self._port, self._key = port, key

    def ask(self, method: str, path: str, document: Any = None, **more: str) -> Answer:
        """One request on a connection of its own."""
        content = None if document is None else json.dumps(document)
        headers = {"Authorization": f"Bearer {self._key}", "Content-Type": "application/json"}
        headers |= {name.replace("_", "-"): value for name, value in more.items()}
        with closing(http.client.HTTPConnection("127.0.0.1", self._port, timeout=120)) as connection:
            connection.request(method, path, content, headers)
            response = connection.getresponse()
            return Answer(response.status, response.headers, json.loads(response.read() or "null"))

    def get(self, path: str) -> Answer:
        """The answer to GET."""
        return self.ask("GET", path)

    def post(self, path: str, document: Any) -> Answer:
        """The answer to a document."""
        return self.ask("POST", path, document)


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    """A service whose threads wait for each other for a minute: a machine that stands still makes no 503."""
    with a_service(tmp_path_factory.mktemp("served"), wait_seconds=60) as running:
        yield running


@pytest.fixture(scope="module")
def port(service: Service) -> Iterator[int]:
    """Where it listens."""
    connections: dict[int, Any] = {}
    server = waitress.create_server(service.app, map=connections, host="127.0.0.1", port=0, threads=4)
    thread = threading.Thread(target=server.run)
    thread.start()
    yield int(server.effective_port)
    server.trigger.pull_trigger(lambda: wasyncore.close_all(connections))
    thread.join()
    server.task_dispatcher.shutdown()


@pytest.fixture(scope="module")
def desk(service: Service, port: int) -> Client:
    """The front desk."""
    return Client(port, service.keyring.new("desk", "desk")[0])


def test_health_is_told(desk: Client):
    """As JSON."""
    assert desk.get("/healthz").body == {"status": "ok"}


def test_a_job_alone_and_in_a_list_has_one_price(desk: Client):
    """With a problem in the place of a job that is refused."""
    alone = desk.post("/v1/prices", BATTERY)
    listed = desk.post("/v1/prices", [SCREEN, {"device": "brick"}, BATTERY])
    assert (alone.status, listed.status) == (200, 200)
    assert listed.body[2] == alone.body
    assert listed.body[1]["status"] == 422


def test_a_quote_is_issued_read_and_found(desk: Client):
    """By its address and by its number."""
    issued = desk.post("/v1/quotes", BATTERY)
    assert issued.status == 201
    assert desk.get(issued.headers["Location"]).body == issued.body
    (found,) = desk.get(f"/v1/quotes?number={issued.body['number']}").body["quotes"]
    assert found["id"] == issued.body["id"]


def test_quotes_that_are_issued_at_once_have_numbers_of_their_own(desk: Client):
    """Without gaps, and the list leads to each of them once."""
    first = int(desk.post("/v1/quotes", BATTERY).body["number"][5:])
    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(lambda _: desk.post("/v1/quotes", SCREEN), range(40)))
    assert {answer.status for answer in answers} == {201}
    numbers = [int(answer.body["number"][5:]) for answer in answers]
    assert sorted(numbers) == list(range(first + 1, first + 41))
    path, found = "/v1/quotes?device=dunnec-21&limit=7", []
    while path:
        page = desk.get(path)
        found += [int(quote["number"][5:]) for quote in page.body["quotes"]]
        path = (page.headers["Link"] or "").partition(">")[0][1:]
    assert sorted(found) == sorted(numbers)


def test_of_many_who_change_a_quote_at_once_one_wins(desk: Client):
    """The others get 412 with what was done meanwhile; turn by turn all get through, and nothing is lost."""
    place = desk.post("/v1/quotes", BATTERY).headers["Location"]
    revision = {"reason": "express", "job": {"urgency": "express"}}
    decision = {"decision": "declined", "revision": 1, "name": "A. Example", "how": "counter"}
    attempts = [("revisions", revision), ("decisions", decision)] * 2

    def attempt(what: tuple[str, Any]) -> Answer:
        return desk.ask("POST", f"{place}/{what[0]}", what[1], If_Match='"1"')

    with ThreadPoolExecutor(4) as pool:
        answers = list(pool.map(attempt, attempts))
    assert sorted(answer.status for answer in answers) == [201, 412, 412, 412]
    kinds = [event["kind"] for event in desk.get(f"{place}/history").body["events"]]
    assert kinds in (["issued", "revised"], ["issued", "declined"])
    for answer in answers:
        if answer.status == 412:
            assert answer.headers["ETag"] == '"2"'
            assert len(answer.body["meanwhile"]) == 1
    current = desk.get(place)
    again = desk.ask("PUT", f"{place}/contact", {"name": "A. Example"}, If_Match=current.headers["ETag"])
    assert (again.status, again.body["version"], len(again.body["revisions"])) == (200, 3, current.body["revision"])


@pytest.mark.parametrize(
    ("path", "document", "status"),
    [
        ("/v1/prices", {"device": "brick", "repairs": []}, 422),
        ("/v1/quotes", BATTERY | {"discount": {"rate": "0.9"}}, 403),
        ("/v1/prices?book=atlantis", BATTERY, 404),
        ("/v1/prices", [BATTERY] * 1001, 422),
        ("/v1/prices", "x" * 2_000_001, 413),
        ("/v1/prices", "x" * 10_000_000, 413),
        ("/none", {}, 404),
        ("/healthz", {}, 405),
    ],
)
def test_a_refusal_is_a_problem(desk: Client, path: str, document: Any, status: int):
    """Over the wire as well, whatever its size."""
    answer = desk.post(path, document)
    assert (answer.status, answer.body["status"]) == (status, status)
    assert answer.headers["Content-Type"] == "application/problem+json"


def test_an_unknown_key_is_refused(port: int):
    """401, and how to send one that counts."""
    answer = Client(port, "quoter_000000000000_x").get("/v1/devices")
    assert (answer.status, answer.headers["WWW-Authenticate"]) == (401, 'Bearer realm="quoter"')


def test_a_body_in_chunks_is_read(desk: Client, port: int):
    """A client need not know the length beforehand."""
    content = json.dumps(BATTERY).encode()
    headers = {"Authorization": f"Bearer {desk._key}", "Content-Type": "application/json"}
    with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=120)) as connection:
        connection.request("POST", "/v1/prices", iter([content[:20], content[20:]]), headers, encode_chunked=True)
        response = connection.getresponse()
        assert (response.status, json.loads(response.read())["currency"]) == (200, "EUR")


def test_the_database_has_every_quote_that_was_answered(service: Service, desk: Client, tmp_path: Path):
    """Read from the file by somebody else before the answer's next line would be."""
    issued = desk.post("/v1/quotes", BATTERY).body
    copy = tmp_path / "copy.db"
    for suffix in ("", "-wal"):
        Path(f"{copy}{suffix}").write_bytes(Path(f"{service.store.path}{suffix}").read_bytes())
    with closing(type(service.store)(copy)) as store:
        assert store.row("select id from quotes where number = :number", {"number": issued["number"]}) == {
            "id": issued["id"]
        }


def test_many_who_want_the_price_list_first_have_it_worked_out_once(service: Service, desk: Client):
    """All get the same; who has it gets 304 and no body, on a connection that then still works."""
    with ThreadPoolExecutor(4) as pool:
        answers = list(pool.map(lambda _: desk.get("/v1/price-list"), range(8)))
    first = answers[0]
    assert all((each.status, each.body) == (200, first.body) for each in answers)
    found = services_of(service.app)
    book = found.shelf.named(None).book
    listed = found.price_lists.of(book, found.quoting.today(book))
    assert listed.priced == first.body["count"] == len(listed.entries)
    again = desk.ask("GET", "/v1/price-list", If_None_Match=first.headers["ETag"])
    assert (again.status, again.body, again.headers["ETag"]) == (304, None, first.headers["ETag"])
