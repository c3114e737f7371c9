"""Tokens of a form: signed, so that nothing is kept until somebody has filled it in.

A token says when the form was opened, for which key. A program that fills in forms is quicker than a person.
"""

import base64
import datetime as dt
import hashlib
import hmac
import math
import secrets
from dataclasses import dataclass

from quoter.problems import EnquiryRefused, Refusal
from quoter.service.clock import Clock, stamp
from quoter.service.ids import EPOCH
from quoter.service.ports import Secrets

USABLE_AFTER_SECONDS = 3
USABLE_FOR_HOURS = 12
LONGEST_TOKEN = 200

FORMS, SENDERS = "forms", "senders"
"""Names of the secrets for tokens of forms, and for hashes of network addresses."""

_MILLISECOND = dt.timedelta(milliseconds=1)
_MOST_DIGITS = 14


@dataclass(frozen=True, slots=True, kw_only=True)
class FormToken:
    """A token with the first moment at which what was filled in may be sent, and the first at which no more."""

    token: str
    usable_from: str
    usable_until: str


@dataclass(frozen=True, slots=True)
class FormTokens:
    """Makes tokens, and tells whether one may be used now."""

    secrets: Secrets
    now: Clock

    def new(self, key_id: str) -> FormToken:
        """A token for one filling-in of a form of a key."""
        said = f"{(self.now() - EPOCH) // _MILLISECOND}.{secrets.token_urlsafe(12)}"
        opened = _opened(said)
        return FormToken(
            token=f"{said}.{self._signature(said, key_id)}",
            usable_from=stamp(opened + dt.timedelta(seconds=USABLE_AFTER_SECONDS)),
            usable_until=stamp(opened + dt.timedelta(hours=USABLE_FOR_HOURS)),
        )

    def check_made_for(self, token: str, key_id: str) -> None:
        """Whether the service has made a token for this key. Raises EnquiryRefused."""
        said, _, signature = token.rpartition(".")
        if not hmac.compare_digest(signature.encode(), self._signature(said, key_id).encode()):
            raise _refused("form-unknown", "this form was not begun here; load it again, and send it once more")

    def check_time(self, token: str) -> None:
        """Whether a token that was made here may be used now. Raises EnquiryRefused."""
        open_for = self.now() - _opened(token)
        early = dt.timedelta(seconds=USABLE_AFTER_SECONDS) - open_for
        if early > dt.timedelta():
            wait_seconds = math.ceil(early.total_seconds())
            detail = f"sent sooner than anybody can read the form; wait {wait_seconds} s, and send the same once more"
            raise EnquiryRefused((Refusal("too-early", "/token", detail, (str(wait_seconds),)),), wait_seconds)
        if open_for >= dt.timedelta(hours=USABLE_FOR_HOURS):
            detail = f"this form was open for more than {USABLE_FOR_HOURS} hours; begin another, and send it once more"
            raise _refused("form-expired", detail)

    def _signature(self, said: str, key_id: str) -> str:
        """HMAC-SHA256 (RFC 2104); ids of keys have no newline, so that no two pairs are signed alike."""
        signed = hmac.digest(self.secrets.of(FORMS), f"{key_id}\n{said}".encode(), "sha256")
        return base64.urlsafe_b64encode(signed).decode().rstrip("=")


def filled_sha256(token: str) -> str:
    """What is kept of a token that was used."""
    return hashlib.sha256(token.encode()).hexdigest()


def _opened(token: str) -> dt.datetime:
    return EPOCH + int(token.partition(".")[0][:_MOST_DIGITS]) * _MILLISECOND


def _refused(reason: str, detail: str) -> EnquiryRefused:
    return EnquiryRefused((Refusal(reason, "/token", detail),))
