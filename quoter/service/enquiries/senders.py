"""Who sent something, without keeping their network address."""

import hashlib
import hmac

from quoter.service.access.networks import network_of


def sender_of(address: str, secret: bytes) -> str:
    """A hash with a key of who sent something; blank where the address is not known.

    Without the secret nobody can try all addresses until one fits.
    """
    return hmac.digest(secret, network_of(address).encode(), hashlib.sha256).hex() if address else ""
