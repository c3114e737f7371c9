"""Quotes for the tests of pages: issued, revised and decided on by the API, as another desk would."""

from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from quoter.store.database import Store
from quoter.store.quotes import Quotes

from .running import Service

BATTERY: dict[str, Any] = {
    "device": "kessoway-5",
    "repairs": [{"procedure": "battery", "grade": "genuine"}],
    "contact": {"name": "Orla Example", "phone": "+353 1 555 0177", "email": "orla@example.org"},
}


LAW: dict[str, Any] = {
    "code": "invented",
    "title": "An invented rule",
    "reviewed": "",
    "label": "estimate",
    "tax_in_price": True,
    "excess": {"share": "0.10", "of": "gross", "from": False},
    "validity_days": 30,
    "consent": {"how": ["phone", "message"], "number": True},
    "notices": [
        {
            "code": "data-loss",
            "must_be_told": True,
            "texts": {"en": "Everything stored on it may be lost.", "de": "Alles Gespeicherte kann verloren gehen."},
        }
    ],
}
"""Of no country."""


@dataclass
class Quoted:
    """A quote, as the last call has answered it."""

    service: Service
    data: dict[str, Any]

    @property
    def path(self) -> str:
        """Of its page at the desk."""
        return f"/desk/quotes/{self.data['id']}"

    @property
    def customer_path(self) -> str:
        """Of the newest revision's page for the customer."""
        return urlsplit(self.data["link"]).path

    @property
    def gross(self) -> str:
        """What it costs, as the job's locale writes it."""
        text: str = self.data["formatted"]["totals"]["gross"]
        return text

    def revise(self, reason: str, **job: Any) -> "Quoted":
        """The next revision."""
        return self._post("revisions", {"reason": reason, "job": job})

    def decide(self, decision: str, **said: Any) -> "Quoted":
        """Somebody decides about the newest revision."""
        who = {"name": "Orla Example", "how": "counter", "revision": self.data["revision"]}
        return self._post("decisions", {"decision": decision, **who, **said})

    def fresh(self) -> dict[str, Any]:
        """As it is by now."""
        data: dict[str, Any] = self.service.call("GET", f"/v1/quotes/{self.data['id']}").json
        return data

    def _post(self, what: str, body: dict[str, Any]) -> "Quoted":
        path = f"/v1/quotes/{self.data['id']}/{what}"
        answer = self.service.call("POST", path, body, If_Match=f'"{self.fresh()["version"]}"')
        assert answer.status == 201, answer.body
        self.data = answer.json
        return self


def issued(service: Service, **job: Any) -> Quoted:
    """A new quote for a battery, with what is said otherwise."""
    answer = service.call("POST", "/v1/quotes", BATTERY | job)
    assert answer.status == 201, answer.body
    return Quoted(service, answer.json)


def under(law: dict[str, Any], shown: Quoted, database: Path) -> Quoted:
    """The same quote again, as if it had been issued under a law."""
    with closing(Store(database)) as store:
        quote = Quotes(store).get(shown.data["id"])
        assert quote is not None
        number = f"{int(quote.number[5:]):04x}"
        by_law = replace(
            quote, id=f"{quote.id[:-4]}{number}", link=f"{quote.link}x", result={**quote.result, "law": law}
        )
        kept = Quotes(store).add(by_law, "kessoway")
    return Quoted(shown.service, shown.service.call("GET", f"/v1/quotes/{kept.id}").json)
