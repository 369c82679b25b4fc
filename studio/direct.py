"""Uploads that go from a browser to the bucket itself: a place for one, and what came there, checked.

The place is ours to choose and takes one file of one size, for some minutes. That it came is told by a ticket
that only the member can use whom it was given; what lies there becomes a kept file as any upload does, by the
same checks, and then lies there no more. What is never told of goes with the sweep.
"""

from __future__ import annotations

import uuid
from typing import Any

from django.conf import settings
from django.core.exceptions import BadRequest
from django.core.files import File
from django.core.files.storage import default_storage
from django.core.signing import BadSignature, TimestampSigner

from studio.models import Member

ARRIVING = "arriving"
LASTS_S = 15 * 60
MOST_BYTES = 25 * 1024 * 1024
SALT = "studio.direct"


def place_for(member: Member, size: int, content_type: str) -> dict[str, Any] | None:
    """Return where a browser may put a file of this size and how it tells of it; None where it may not."""
    if not settings.S3_BUCKET or not 0 < size <= MOST_BYTES:
        return None
    name = f"{ARRIVING}/{member.studio_id}/{uuid.uuid4().hex}"
    bucket: Any = default_storage
    to: dict[str, Any] = bucket.place_for(name, size, content_type, LASTS_S)
    return {**to, "ticket": TimestampSigner(salt=SALT).sign_object([member.pk, name, size, content_type])}


def arrived(member: Member, ticket: str) -> File[bytes]:
    """Return what came to the place of a ticket, as an upload; BadRequest where nothing is there for them."""
    try:
        whose, name, size, content_type = TimestampSigner(salt=SALT).unsign_object(
            ticket, max_age=2 * LASTS_S
        )
    except (BadSignature, ValueError):
        raise BadRequest from None
    bucket: Any = default_storage
    if whose != member.pk or not settings.S3_BUCKET:
        raise BadRequest
    try:
        upload: File[bytes] = bucket.arrived(name, content_type)
    except FileNotFoundError:  # it never came, or was told of before
        raise BadRequest from None
    if upload.size != size:
        raise BadRequest
    return upload
