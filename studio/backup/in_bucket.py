"""The files of rows in a bucket."""

from __future__ import annotations

from studio.bucket.storage import Bucket


class HoldingBucket(Bucket):
    """The bucket of the site."""
