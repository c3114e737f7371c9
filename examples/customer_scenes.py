"""What an owner asks when a customer wants to know what is held on them, or wants it erased."""

from examples.asking import Asking
from examples.spoiling import Call

UNKNOWN = {"quote": "2026-99999"}
REPEATED = {"Idempotency-Key": "0d4e8a52-91c3-4f0b-8a6e-2c7b5d1f9e34"}


def play_customers(asking: Asking) -> None:
    """Everything that is held, and then nothing any more."""
    for operation in ("exportCustomer", "eraseCustomer"):
        asking.fail(operation, 404, "not-found", body=UNKNOWN)
        asking.succeed(operation, brief=True)
    made = asking.send(Call.of("issueQuote", headers=REPEATED)).get_json()
    asking.send(Call.of("eraseCustomer", body={"quote": made["number"]}))
    again = asking.send(Call.of("issueQuote", headers=REPEATED)).get_json()
    asking.kept.keep_problem("idempotency-key-erased", again, status=409)
