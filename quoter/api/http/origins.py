"""Where a request comes from: the site whose page sent it, and the network address of who looks at it."""

from flask import request

from quoter.service.access.networks import address_of


def own_origin() -> str:
    """Of this service, as the browser of this request knows it."""
    return f"{request.scheme}://{request.host}"


def request_origin() -> str:
    """The site whose page sent this (RFC 6454), blank where no page did.

    Browsers name another site in Origin, and say of their own accord that a page of this service reads from it.
    """
    sent = request.headers.get("Origin", "")
    if not sent and request.headers.get("Sec-Fetch-Site") == "same-origin":
        return own_origin()
    return sent


def sender_address() -> str:
    """The network address of who sent this; of a proxy in front only where the settings trust none."""
    return address_of(request.remote_addr or "")
