"""Enquiries for the tests of pages: made by the API, as the form on a shop's site would."""

import json
import time
from dataclasses import dataclass
from typing import Any

from .running import Service

NOTICED: dict[str, Any] = {
    "job": {"device": "kessoway-5", "repairs": [{"procedure": "battery", "grade": "genuine"}]},
    "noticed": "It is empty by noon,\nand warm when it charges.",
    "contact": {"name": "Orla Example", "phone": "+353 1 555 0177", "email": "orla@example.org"},
}
DIAGNOSIS = {"device": "kessoway-4", "repairs": [{"procedure": "diagnosis"}]}


@dataclass(frozen=True)
class AskedFor:
    """An enquiry, as the desk finds it."""

    service: Service
    data: dict[str, Any]

    @property
    def path(self) -> str:
        """Of its page at the desk."""
        return f"/desk/enquiries/{self.data['id']}"

    def fresh(self) -> dict[str, Any]:
        """As it is by now."""
        data: dict[str, Any] = self.service.call("GET", f"/v1/enquiries/{self.data['id']}").json
        return data

    def quote(self) -> dict[str, Any]:
        """Another desk makes a quote of it."""
        data: dict[str, Any] = self._post("quote", {}, 201)
        return data

    def put_aside(self, because: str = "no-answer") -> "AskedFor":
        """Another desk puts it aside."""
        self._post("closing", {"because": because}, 200)
        return self

    def _post(self, what: str, body: dict[str, Any], status: int) -> Any:
        path, seen = f"/v1/enquiries/{self.data['id']}/{what}", f'"{self.fresh()["version"]}"'
        answer = self.service.call("POST", path, body, If_Match=seen)
        assert answer.status == status, answer.body
        return answer.json


def asked(service: Service, **members: Any) -> AskedFor:
    """Somebody calls, and the shop writes it down: an enquiry about a battery, with what is said otherwise."""
    answer = service.call("POST", "/v1/enquiries", NOTICED | members)
    assert answer.status == 201, answer.body
    return AskedFor(service, service.call("GET", answer.headers["Location"]).json)


def asked_by_form(service: Service, origin: str, **members: Any) -> AskedFor:
    """A visitor fills in the form on the shop's site, as slowly as people do."""
    sent = {"Authorization": f"Bearer {service.keys['form']}", "Content-Type": "application/json", "Origin": origin}
    token = service.ask("POST", "/v1/enquiry-forms", b"{}", sent).json["token"]
    time.sleep(3.1)
    body = NOTICED | {"may_be_contacted": True, "token": token} | members
    answer = service.ask("POST", "/v1/enquiries", json.dumps(body).encode(), sent)
    assert answer.status == 201, answer.body
    found = service.call("GET", f"/v1/enquiries?reference={answer.json['reference']}").json["enquiries"]
    return AskedFor(service, service.call("GET", f"/v1/enquiries/{found[0]['id']}").json)
