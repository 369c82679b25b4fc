"""Bytes as a browser's push interface writes them: base64url without filling (RFC 7515, section 2)."""

from __future__ import annotations

from base64 import urlsafe_b64decode, urlsafe_b64encode


def written(given: bytes) -> str:
    """Return bytes as text."""
    return urlsafe_b64encode(given).rstrip(b"=").decode()


def read(text: str) -> bytes:
    """Return the bytes of a text; ValueError where it is none."""
    if not text.isascii() or not text.replace("-", "").replace("_", "").isalnum():
        raise ValueError
    return urlsafe_b64decode(text + "=" * (-len(text) % 4))
