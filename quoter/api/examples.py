"""The job that the description of the API shows, from the demo book; a test prices it."""

from typing import Any

JOB_EXAMPLE: dict[str, Any] = {
    "device": "kessoway-5",
    "repairs": [{"procedure": "battery", "grade": "genuine"}],
    "findings": ["swollen-cell"],
    "customer": {"kind": "consumer"},
    "payment": "cash",
}
