"""What a form on the shop's site asks, and what the desk does with it."""

from typing import Any

from examples.asking import Asking
from quoter.api.prices.examples import ENQUIRY_EXAMPLE

MOST_FROM_ONE_ADDRESS = 10


def play_enquiries(asking: Asking) -> None:
    """From a form that is shown to a quote, and what a form can do wrong."""
    _ask(asking)
    _deal(asking)
    _ask_wrongly(asking)


def _ask(asking: Asking) -> None:
    filled = _begun(asking)
    asking.fail("makeEnquiry", 422, "too-early", key="form", body=filled)
    asking.wait(minutes=2)
    asking.succeed("makeEnquiry", key="form", body=filled)
    asking.fail("makeEnquiry", 422, "form-used", key="form", body=filled | {"noticed": "It is warm, too."})


def _deal(asking: Asking) -> None:
    (enquiry,) = asking.succeed("listEnquiries", query={"standing": "new"}).get_json()["enquiries"]
    at = {"enquiry_id": enquiry["id"]}
    tag = asking.succeed("readEnquiry", path=at).headers["ETag"]
    tag = asking.succeed("closeEnquiry", path=at, match=tag, brief=True).headers["ETag"]
    reopened = asking.succeed("closeEnquiry", path=at, match=tag, body={"because": None}, spoil=False)
    asking.succeed("quoteEnquiry", path=at, match=reopened.headers["ETag"], brief=True)
    tag = asking.succeed("readEnquiry", path=at, spoil=False).headers["ETag"]
    asking.fail("quoteEnquiry", 409, "conflict", path=at, match=tag)
    again = {"device": "kessoway-5", "repairs": [{"procedure": "battery"}], "enquiry": enquiry["id"]}
    asking.fail("issueQuote", 409, "conflict", body=again)
    asking.fail("closeEnquiry", 409, "conflict", path=at, match=tag)


def _ask_wrongly(asking: Asking) -> None:
    filled = _begun(asking)
    unknown = ENQUIRY_EXAMPLE | {"token": "1772443800000.bm9uY2Utbm9uY2U.c2lnbmF0dXJl"}
    asking.fail("makeEnquiry", 422, "form-unknown", key="form", body=unknown)
    asking.fail("makeEnquiry", 422, "looks-automatic", key="form", body=filled | {"homepage": "https://spam.example"})
    asking.wait(hours=13)
    asking.fail("makeEnquiry", 422, "form-expired", key="form", body=filled)
    for _ in range(MOST_FROM_ONE_ADDRESS):
        filled = _begun(asking)
        asking.wait(seconds=10)
        asking.succeed("makeEnquiry", key="form", body=filled, spoil=False)
    filled = _begun(asking)
    asking.wait(seconds=10)
    asking.fail("makeEnquiry", 429, "too-many-requests", name="too-many-enquiries", key="form", body=filled)


def _begun(asking: Asking) -> dict[str, Any]:
    token = asking.succeed("beginEnquiry", key="form").get_json()["token"]
    return ENQUIRY_EXAMPLE | {"token": token}
