"""Signatures of what webhooks are told, by the open specification Standard Webhooks: version 1, HMAC with SHA-256."""

import base64
import hashlib
import hmac
import secrets
from collections.abc import Iterable

PREFIX = "whsec_"
SECRET_BYTES = 32
"""The specification asks for 24 to 64."""

VERSION = "v1"


def new_secret() -> str:
    """As its holder keeps it: the prefix and random bytes in base64."""
    return PREFIX + base64.b64encode(secrets.token_bytes(SECRET_BYTES)).decode()


def signatures(secrets_that_count: Iterable[str], message_id: str, seconds: int, body: bytes) -> str:
    """The header `webhook-signature`: one signature for each secret, apart by blanks."""
    signed = f"{message_id}.{seconds}.".encode() + body
    return " ".join(f"{VERSION},{_signature(secret, signed)}" for secret in secrets_that_count)


def _signature(secret: str, signed: bytes) -> str:
    key = base64.b64decode(secret.removeprefix(PREFIX))
    return base64.b64encode(hmac.new(key, signed, hashlib.sha256).digest()).decode()
