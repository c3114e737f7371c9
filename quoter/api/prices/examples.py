"""The job that the description of the API shows, from the demo book; a test prices it."""

from typing import Any

JOB_EXAMPLE: dict[str, Any] = {
    "device": "kessoway-5",
    "repairs": [{"procedure": "battery", "grade": "genuine"}],
    "findings": ["swollen-cell"],
    "customer": {"kind": "consumer"},
    "payment": "cash",
}

ENQUIRY_EXAMPLE: dict[str, Any] = {
    "job": {"device": "kessoway-5", "repairs": [{"procedure": "battery"}]},
    "noticed": "It is empty by noon.",
    "contact": {"name": "A. Example", "phone": "+353 1 555 0100"},
    "may_be_contacted": True,
    "token": "1772443800000.bm9uY2Utbm9uY2U.c2lnbmF0dXJl",
}
