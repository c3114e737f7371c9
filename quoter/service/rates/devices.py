"""Finding devices and what is offered for them."""

from quoter.book import Device, Finding, RateBook
from quoter.engine.plan import concerns
from quoter.engine.refusals import suggestions
from quoter.problems import NotFound
from quoter.service.rates.device_search import ranked


def devices_matching(words: str, kind: str | None, book: RateBook) -> list[Device]:
    """The devices of a kind that these words mean, the best match first; all in the owner's order, without words."""
    return [device for device in ranked(words, book) if kind is None or device.kind == kind]


def device_named(code: str, book: RateBook) -> Device:
    """The device with this code. Raises NotFound."""
    if code not in book.devices:
        raise NotFound("device", code, suggestions(code, book.devices))
    return book.devices[code]


def findings_for(device: str, book: RateBook) -> list[Finding]:
    """What may be seen on a device: the findings that concern something that is offered for it."""
    offered = list(book.offered[device].values())
    return [finding for finding in book.findings.values() if concerns(finding, offered)]
