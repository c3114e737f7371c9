"""What an owner asks when a customer wants to know what is held on them, or wants it erased."""

from examples.asking import Asking

UNKNOWN = {"quote": "2026-99999"}


def play_customers(asking: Asking) -> None:
    """Everything that is held, and then nothing any more."""
    for operation in ("exportCustomer", "eraseCustomer"):
        asking.fail(operation, 404, "not-found", body=UNKNOWN)
        asking.succeed(operation, brief=True)
