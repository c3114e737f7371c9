"""Finding devices and what is offered for them."""

from quoter.book import Device, Finding, RateBook
from quoter.engine.plan import concerns
from quoter.engine.refusals import suggestions
from quoter.problems import NotFound


def devices_matching(words: str, kind: str | None, book: RateBook) -> list[Device]:
    """The devices whose maker, model, code and kind have all these words in them, in the owner's order."""
    wanted = words.casefold().split()
    return [
        device
        for device in book.devices.values()
        if (kind is None or device.kind == kind) and all(word in _words_of(device) for word in wanted)
    ]


def device_named(code: str, book: RateBook) -> Device:
    """The device with this code. Raises NotFound."""
    if code not in book.devices:
        raise NotFound("device", code, suggestions(code, book.devices))
    return book.devices[code]


def findings_for(device: str, book: RateBook) -> list[Finding]:
    """What may be seen on a device: the findings that concern something that is offered for it."""
    offered = list(book.offered[device].values())
    return [finding for finding in book.findings.values() if concerns(finding, offered)]


def _words_of(device: Device) -> str:
    return f"{device.maker} {device.model} {device.code} {device.kind}".casefold()
