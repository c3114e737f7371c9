"""Forms that visitors fill in."""

from typing import Any

from .running import BATTERY, Caller, Reply, Service

CONTACT = {"name": "Aoife Example", "phone": "+353 1 555 0100", "email": "aoife@example.org"}


def filled(token: str = "", **members: Any) -> dict[str, Any]:
    """A form about a battery, with what is said otherwise."""
    form = {"job": BATTERY, "noticed": "Empty by noon.", "contact": CONTACT, "may_be_contacted": True}
    return form | ({"token": token} if token else {}) | members


def begun(service: Service, form: Caller) -> str:
    """The token of a form that was opened long enough ago."""
    token: str = form.post("/v1/enquiry-forms", {}).body["token"]
    service.clock.forward(seconds=5)
    return token


def asked(service: Service, form: Caller, **members: Any) -> Reply:
    """The answer to a form that is filled in as it should be, with what is said otherwise."""
    return form.post("/v1/enquiries", filled(begun(service, form), **members))


def kept(service: Service) -> int:
    """How many enquiries are kept."""
    (row,) = service.store.rows("select count(*) as n from enquiries")
    return int(row["n"])
