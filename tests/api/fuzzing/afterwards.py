"""What is kept after bad input: whole, and readable as the API describes it."""

from collections.abc import Iterator

from ..running import Caller, Service


def read_everything(service: Service) -> dict[str, int]:
    """Reads all that is kept, and says how much it was. Fails where SQLite or the description finds a fault."""
    (integrity,) = service.store.rows("pragma integrity_check")
    assert tuple(dict(integrity).values()) == ("ok",)
    assert list(service.store.rows("pragma foreign_key_check")) == []
    owner = service.caller("owner")
    kinds = {"quotes": _quotes, "enquiries": _enquiries, "versions": _versions, "webhooks": _webhooks}
    return {kind: sum(1 for _ in read(service, owner)) for kind, read in kinds.items()}


def _ids(service: Service, table: str) -> list[str]:
    return [row["id"] for row in service.store.rows(f"select id from {table}")]


def _quotes(service: Service, owner: Caller) -> Iterator[None]:
    """With history and papers."""
    for quote in _ids(service, "quotes"):
        for part in ("", "/history"):
            _read(owner, f"/v1/quotes/{quote}{part}")
        _read(owner, f"/v1/quotes/{quote}/document", Accept="application/json")
        yield


def _enquiries(service: Service, owner: Caller) -> Iterator[None]:
    for enquiry in _ids(service, "enquiries"):
        _read(owner, f"/v1/enquiries/{enquiry}")
        yield


def _versions(service: Service, owner: Caller) -> Iterator[None]:
    """Of every book, and its draft if it has one."""
    for book in owner.get("/v1/books").body["books"]:
        here = f"/v1/books/{book['code']}"
        if book.get("draft"):
            _read(owner, f"{here}/draft")
            _read(owner, f"{here}/draft/check")
        for version in range(1, book["versions"] + 1):
            _read(owner, f"{here}/versions/{version}")
            yield


def _webhooks(service: Service, owner: Caller) -> Iterator[None]:
    for webhook in owner.get("/v1/webhooks").body["webhooks"]:
        _read(owner, f"/v1/webhooks/{webhook['id']}")
        _read(owner, f"/v1/webhooks/{webhook['id']}/deliveries")
        yield


def _read(owner: Caller, path: str, **headers: str) -> None:
    reply = owner.get(path, **headers)
    assert reply.status == 200, (path, reply.text[:500])
