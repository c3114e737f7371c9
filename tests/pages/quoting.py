"""Quotes for the tests of pages: issued, revised and decided on by the API, as another desk would."""

from dataclasses import dataclass
from typing import Any
from urllib.parse import urlsplit

from .running import Service

BATTERY: dict[str, Any] = {
    "device": "kessoway-5",
    "repairs": [{"procedure": "battery", "grade": "genuine"}],
    "contact": {"name": "Orla Example", "phone": "+353 1 555 0177", "email": "orla@example.org"},
}


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
