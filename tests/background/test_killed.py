"""A real service that is killed between two attempts, and one whose log is read afterwards."""

import json
import time
from collections import Counter
from pathlib import Path

from cli.running import BALLYQUARN, BATTERY, Served, served
from wire.raw import wait_until

from .receivers import Receiver, receiving, status

NETWORKS = {"QUOTER_WEBHOOK_NETWORKS": "127.0.0.0/8"}
OPTIONS = ("--demo", "--book", BALLYQUARN)
FAILS = status(500)


def keys(greeting: list[str]) -> dict[str, str]:
    """By scope."""
    return dict(line.split() for line in greeting[2:5])


def told(receiver: Receiver) -> list[str]:
    """The kinds that have come in, with the revision."""
    return [f"{(body := json.loads(each.body))['type']} {body['data'].get('number', '')}" for each in receiver.got]


def attempts_kept(service: Served, webhook: str) -> int:
    """How many deliveries have an attempt of which it is kept what came of it."""
    found, page = service.ask(f"/v1/webhooks/{webhook}/deliveries", keys(service.greeting)["owner"])
    assert found == 200, page
    return sum(each["last_attempt"] is not None for each in page["deliveries"])


def test_a_service_that_is_killed_loses_nothing_and_makes_up_no_new_ids(tmp_path: Path):
    """Two quotes fail once, kill -9, and the next start delivers both under the ids that they had."""
    database = tmp_path / "quoter.db"
    with receiving(FAILS, FAILS, status(204)) as receiver:
        hook = {"address": receiver.address, "events": ["quote.issued"]}
        with served(database, *OPTIONS, lines=6, **NETWORKS) as service:
            key = keys(service.greeting)
            made = service.ask("/v1/webhooks", key["owner"], hook)[1]
            numbers = [service.ask("/v1/quotes", key["desk"], BATTERY)[1]["number"] for _ in range(2)]
            wait_until(lambda: attempts_kept(service, made["id"]) == 2, "what came of them is not kept")
            service.process.kill()
            service.process.wait()
        before = set(receiver.ids)
        with served(database, *OPTIONS, lines=6, **NETWORKS):
            receiver.wait_for(4)
            time.sleep(1.5)  # nothing more comes
    assert Counter(receiver.ids) == Counter(dict.fromkeys(before, 2))
    assert Counter(told(receiver)) == Counter({f"quote.issued {number}": 2 for number in numbers})


def test_a_service_ends_cleanly_while_it_is_delivering_and_logs_no_secret(tmp_path: Path):
    """Within the time that a stop may take, without complaints."""
    database = tmp_path / "quoter.db"
    with receiving(status(302), status(204)) as receiver:
        hook = {"address": receiver.address, "events": ["quote.issued"]}
        with served(database, *OPTIONS, lines=6, **NETWORKS) as service:
            key = keys(service.greeting)
            made = service.ask("/v1/webhooks", key["owner"], hook)[1]
            service.ask(f"/v1/webhooks/{made['id']}/trial", key["owner"], {})
            receiver.wait_for(1)
            service.process.terminate()
            printed, complaints = service.process.communicate(timeout=60)
    assert service.process.returncode == 0
    assert "Traceback" not in complaints
    assert made["secret"].removeprefix("whsec_") not in printed + complaints
