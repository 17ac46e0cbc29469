"""Secrets in links and codes: long, drawn by the machine, and kept only as hashes."""

from __future__ import annotations

import hashlib
import secrets

# No 0/O, 1/I/L, U/V: a code is read aloud across a yard.
CODE_LETTERS = "ABCDEFGHJKMNPQRSTWXYZ23456789"
CODE_LENGTH = 8


def new_secret() -> str:
    """Return a secret for a link: 256 bits."""
    return secrets.token_urlsafe(32)


def new_code() -> str:
    """Return a code to type: 8 signs, 39 bits, for minutes and a single use."""
    return "".join(secrets.choice(CODE_LETTERS) for _ in range(CODE_LENGTH))


def hash_of(secret: str) -> str:
    """Return the hash that is kept. The secrets are random and long, so a plain SHA-256 is enough."""
    return hashlib.sha256(secret.encode()).hexdigest()


def code_typed(text: str) -> str:
    """Return a code as it was meant: capitals, without spaces and dashes.

    Examples
    --------
    >>> code_typed(" abcd-2345 ")
    'ABCD2345'
    """
    return "".join(c for c in text.upper() if c.isalnum())
