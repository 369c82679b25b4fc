"""A notice sealed so that the push service on the way cannot read it: RFC 8291, over RFC 8188 and RFC 5869.

Own, on cryptography's primitives, held to the example that RFC 8291 prints: the libraries for it bring two
HTTP clients along, and look up the address themselves, so that it could not be refused (see line.py).
"""

from __future__ import annotations

import os

from cryptography.hazmat.primitives.asymmetric.ec import (
    ECDH,
    SECP256R1,
    EllipticCurvePrivateKey,
    EllipticCurvePublicKey,
    generate_private_key,
)
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

# one record holds it all: services take no more (RFC 8030, section 7.2)
RECORD_BYTES = 4096
POINT_BYTES, SECRET_BYTES, SALT_BYTES = 65, 16, 16
LAST_RECORD = b"\x02"


def sealed(told: bytes, phone: bytes, secret: bytes) -> bytes:
    """Return what is sent to a browser that gave its public key and its secret; key and salt are used once.

    phone    65 bytes, a point of P-256 as X9.62 writes it; ValueError if it is none
    secret   16 bytes
    """
    return sealed_with(told, phone, secret, generate_private_key(SECP256R1()), os.urandom(SALT_BYTES))


def sealed_with(told: bytes, phone: bytes, secret: bytes, own: EllipticCurvePrivateKey, salt: bytes) -> bytes:
    """Return the same with this key and salt: the same bytes each time."""
    ours, theirs = point_of(own), EllipticCurvePublicKey.from_encoded_point(SECP256R1(), phone)
    shared = own.exchange(ECDH(), theirs)
    material = _derived(shared, secret, b"WebPush: info\0" + phone + ours, 32)
    key = _derived(material, salt, b"Content-Encoding: aes128gcm\0", 16)
    nonce = _derived(material, salt, b"Content-Encoding: nonce\0", 12)
    head = salt + RECORD_BYTES.to_bytes(4, "big") + bytes([len(ours)]) + ours
    return head + AESGCM(key).encrypt(nonce, told + LAST_RECORD, None)


def point_of(key: EllipticCurvePrivateKey) -> bytes:
    """Return a key's public half, 65 bytes."""
    return key.public_key().public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)


def _derived(material: bytes, salt: bytes, purpose: bytes, length: int) -> bytes:
    return HKDF(SHA256(), length, salt, purpose).derive(material)
