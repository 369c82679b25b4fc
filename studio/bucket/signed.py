"""Addresses by which a browser fetches one file from the bucket itself, for some minutes."""

from __future__ import annotations

import time
from functools import lru_cache

from django.conf import settings

from studio.bucket.client import signing

# an address holds for one to two of these; within one, the same file has the same address, so that a browser
# that has it need not fetch it anew
WINDOW_S = 150


def signed_address(key: str, content_type: str, disposition: str) -> str:
    """Return the address of an object that is to come with this type and disposition."""
    return _signed(settings.S3_BROWSER_ENDPOINT, key, content_type, disposition, int(time.time() // WINDOW_S))


@lru_cache(maxsize=4096)
def _signed(endpoint: str, key: str, content_type: str, disposition: str, _window: int) -> str:
    wanted = {
        "Bucket": settings.S3_BUCKET,
        "Key": key,
        "ResponseContentType": content_type,
        "ResponseCacheControl": f"private, max-age={WINDOW_S}",
    }
    if disposition:
        wanted["ResponseContentDisposition"] = disposition
    return str(signing(endpoint).generate_presigned_url("get_object", wanted, 2 * WINDOW_S))
