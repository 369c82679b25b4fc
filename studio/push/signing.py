"""Who we are to a push service: a signature by a key of this site's own (VAPID, RFC 8292).

The key is made when it is first needed and lies in DATA_DIR: never in the database, but in each backup. Made
anew, browsers that gave their address to the old one are asked for it again on their person's own page.
"""

from __future__ import annotations

import functools
import json
import time
from email.utils import parseaddr
from pathlib import Path
from urllib.parse import urlsplit

from cryptography.hazmat.primitives.asymmetric.ec import (
    ECDSA,
    SECP256R1,
    EllipticCurvePrivateKey,
    generate_private_key,
)
from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)
from django.conf import settings

from studio.environment import kept_secret
from studio.push.coding import written
from studio.push.sealing import point_of

KEY_FILE = "push_key"
# a service refuses more than a day
HOLDS_S = 12 * 3600


def public_key() -> str:
    """Return what a browser is given to let only us send."""
    return written(point_of(_key()))


def authorization(endpoint: str) -> str:
    """Return the header that says who sends to this address, signed for its service alone."""
    to = urlsplit(endpoint)
    claims = {"aud": f"{to.scheme}://{to.netloc}", "exp": int(time.time()) + HOLDS_S, "sub": _whom_to_ask()}
    return f"vapid t={_token(claims)}, k={public_key()}"


def _token(claims: dict[str, object]) -> str:
    """Return a JWT of ES256 (RFC 7518, section 3.4: both numbers of the signature, 32 bytes each)."""
    parts = [written(json.dumps(one).encode()) for one in ({"typ": "JWT", "alg": "ES256"}, claims)]
    said = ".".join(parts)
    numbers = decode_dss_signature(_key().sign(said.encode(), ECDSA(SHA256())))
    return f"{said}.{written(b''.join(one.to_bytes(32, 'big') for one in numbers))}"


def _whom_to_ask() -> str:
    """Return where a service may complain: the site, or the sender of its e-mails where it is no https."""
    return settings.SITE_ADDRESS if settings.HTTPS else f"mailto:{parseaddr(settings.DEFAULT_FROM_EMAIL)[1]}"


def _key() -> EllipticCurvePrivateKey:
    return _read(kept_secret(Path(settings.DATA_DIR) / KEY_FILE, _made))


@functools.cache
def _read(pem: str) -> EllipticCurvePrivateKey:
    key = load_pem_private_key(pem.encode(), None)
    assert isinstance(key, EllipticCurvePrivateKey)  # noqa: S101  # we made it
    return key


def _made() -> str:
    key = generate_private_key(SECP256R1())
    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()).decode()
