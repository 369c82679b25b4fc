"""One notice to one device: sealed, signed, sent; a device that went away is forgotten."""

from __future__ import annotations

import json
from http.client import HTTPException

from studio.push.coding import read
from studio.push.line import NotOutside, post
from studio.push.phones import Phone
from studio.push.sealing import sealed
from studio.push.signing import authorization

GONE = (404, 410)
# own choice, no source: what a device that was off for longer has missed stands on the desk
KEPT_S = 7 * 24 * 3600


class NotTaken(OSError):
    """The push service did not take it: a later try may do."""


def send(phone: Phone, notice: dict[str, object], topic: str) -> bool:
    """Send a notice; False if the device went away, or its address leads to no push service.

    Of two notices of one topic a device that was off gets the later alone. `NotTaken` where another try may
    do; what the service says beside its status is not read.
    """
    body = sealed(json.dumps(notice).encode(), read(phone.p256dh), read(phone.auth))
    headers = {
        "Authorization": authorization(phone.endpoint),
        "Content-Encoding": "aes128gcm",
        "Content-Type": "application/octet-stream",
        "TTL": str(KEPT_S),
        "Topic": topic,
    }
    try:
        status = post(phone.endpoint, body, headers)
    except NotOutside:
        status = GONE[0]
    except (OSError, HTTPException) as error:
        raise NotTaken(f"no answer from the service of {phone}: {type(error).__name__}") from error
    if status in GONE:
        Phone.objects.filter(pk=phone.pk).delete()
        return False
    if not 200 <= status < 300:
        raise NotTaken(f"the service of {phone} answered {status}")
    return True
