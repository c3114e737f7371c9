"""Signatures by Standard Webhooks, compared with its own example and with its reference implementation."""

import datetime as dt

from hypothesis import given
from hypothesis import strategies as st
from standardwebhooks.webhooks import Webhook as Reference

from quoter.service.webhooks.signing import new_secret, signatures

SECRET = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"


def test_the_example_of_the_specification():
    """Secret, id, time, body and signature as its libraries publish them for their tests."""
    found = signatures([SECRET], "msg_p5jXN8AQM9LWM0D4loKWxJek", 1614265330, b'{"test": 2432232314}')
    assert found == "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="


@given(seconds=st.integers(0, 2**32), body=st.text(st.characters(codec="utf-8")))
def test_what_is_signed_here_is_what_the_reference_signs(seconds: int, body: str):
    """For any moment and any text, with two secrets in their order."""
    secrets = [SECRET, new_secret()]
    at = dt.datetime.fromtimestamp(seconds, dt.UTC)
    wanted = " ".join(Reference(secret).sign("an-id", at, body) for secret in secrets)
    assert signatures(secrets, "an-id", seconds, body.encode()) == wanted


def test_no_two_secrets_are_alike():
    """They are made by chance."""
    assert len({new_secret() for _ in range(100)}) == 100
