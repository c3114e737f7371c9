"""What a desk asks: devices, prices, quotes and what becomes of them."""

from typing import Any

from examples.asking import Asking
from quoter.api.prices.examples import JOB_EXAMPLE

BATTERY = {"procedure": "battery", "grade": "genuine"}

REFUSED_JOBS: dict[str, dict[str, Any]] = {
    "unknown-code": {"repairs": [{"procedure": "batery"}]},
    "not-offered": {"device": "jelluth-strap", "repairs": [{"procedure": "screen"}], "findings": []},
    "given-twice": {"findings": ["swollen-cell", "swollen-cell"]},
    "part-does-not-fit": {"parts": {"seal": "QK4-SEA-G"}},
    "grade-not-available": {"repairs": [{"procedure": "battery", "grade": "reclaimed"}]},
    "part-required": {"parts": {"battery": None}},
    "stopped-by-finding": {"findings": ["leaking-or-hot-cell"]},
    "contradiction": {"repairs": [{"procedure": "battery", "grade": "compatible", "part": "QK5-CEL-G"}]},
    "out-of-range": {"date": "2926-11-25"},
    "no-tax-rate": {"date": "1971-01-01"},
    "invalid-value": {"payment": "shells"},
    "job-refused": {"device": "kessoway-55", "payment": "shells"},
}
"""By reason what to send in place of members of the example."""

NAMED = {"Idempotency-Key": "6b1f7c1e-3a5d-4a8e-9f57-0f2f6f3a7c11"}


def play_quotes(asking: Asking) -> None:
    """From a device to a quote that was revised and accepted."""
    _find(asking)
    _price(asking)
    _issue(asking)
    _live(asking)


def _find(asking: Asking) -> None:
    asking.succeed("health")
    asking.succeed("readiness")
    asking.succeed("describe", keep=("openapi", "info"))
    asking.succeed("readDocs")
    asking.succeed("readProblem", path={"code": "unknown-code"})
    asking.succeed("listDevices", query={"words": "kessoway", "limit": 2})
    asking.succeed("readDevice", path={"code": "kessoway-5"})
    for content_type in ("application/json", "text/csv", "application/ld+json"):
        asking.succeed("readPriceList", query={"device": "kessoway-5", "limit": 2}, headers={"Accept": content_type})


def _price(asking: Asking) -> None:
    asking.succeed("priceJobs")
    for code, wrong in REFUSED_JOBS.items():
        asking.fail("priceJobs", 422, code, body=JOB_EXAMPLE | wrong)
    asking.fail("priceJobs", 422, "too-many", body=[1] * 1001)


def _issue(asking: Asking) -> None:
    asking.succeed("issueQuote", headers=NAMED)
    other = JOB_EXAMPLE | {"payment": "other"}
    asking.fail("issueQuote", 422, "idempotency-key-reused", headers=NAMED, body=other)
    for code in ("unknown-code", "stopped-by-finding"):
        asking.fail("issueQuote", 422, code, body=JOB_EXAMPLE | REFUSED_JOBS[code])
    discounted = JOB_EXAMPLE | {"discount": {"rate": "0.50", "reason": "a friend"}}
    asking.fail("issueQuote", 403, "not-allowed", name="needs-owner", body=discounted)
    asking.succeed("listQuotes", query={"state": "issued", "limit": 2})


def _live(asking: Asking) -> None:
    (quote,) = asking.succeed("listQuotes", spoil=False).get_json()["quotes"]
    at, tag = {"quote_id": quote["id"]}, '"1"'
    tag = asking.succeed("changeContact", brief=True, path=at, match=tag).headers["ETag"]
    asking.fail("replaceLink", 422, "idempotency-key-reused", path=at, match=tag, headers=NAMED)
    tag = asking.succeed("replaceLink", brief=True, path=at, match=tag).headers["ETag"]
    asking.succeed("previewRevision", brief=True, path=at)
    asking.succeed("decideQuote", brief=True, path=at, match=tag)
    tag = asking.succeed("readQuote", brief=True, path=at).headers["ETag"]
    asking.fail("decideQuote", 409, "conflict", path=at, match=tag)
    asking.fail("reviseQuote", 422, "nothing-changed", path=at, match=tag, body={"reason": "again", "job": {}})
    tag = asking.succeed("reviseQuote", brief=True, path=at, match=tag).headers["ETag"]
    asking.succeed("compareRevisions", brief=True, path=at, query={"old": 1, "new": 2})
    asking.succeed("readQuoteHistory", path=at)
    for content_type in ("application/json", "text/html", "application/pdf"):
        asking.succeed("readQuoteDocument", path=at, headers={"Accept": content_type})
    dearer = {"reason": "The screen, too", "job": {"repairs": [BATTERY, {"procedure": "screen"}]}}
    tag = asking.succeed("reviseQuote", path=at, match=tag, body=dearer, spoil=False).headers["ETag"]
    accepted = {"decision": "accepted", "revision": 3, "name": "A. Example", "how": "phone"}
    asking.fail("decideQuote", 422, "consent-required", path=at, match=tag, body=accepted)
