"""Clients of the service: how it is spoken to."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import boto3
from botocore.config import Config
from django.conf import settings

# a service that takes a call and says nothing must not hold a page or a worker for long
PATIENCE = {"connect_timeout": 5, "read_timeout": 30, "retries": {"mode": "standard", "max_attempts": 2}}


def config() -> Config:
    """Return how it is spoken to: checksums that only Amazon's service knows are left out."""
    return Config(
        signature_version="s3v4",
        s3={"addressing_style": "path"},
        request_checksum_calculation="when_required",
        response_checksum_validation="when_required",
        **PATIENCE,
    )


def session() -> Any:  # noqa: ANN401  # boto3 makes its classes as it runs
    """Return what knows who we are."""
    return boto3.Session(settings.S3_KEY, settings.S3_SECRET, region_name=settings.S3_REGION)


@lru_cache(maxsize=4)
def signing(endpoint: str) -> Any:  # noqa: ANN401  # as above
    """Return what signs for an address at which browsers find the service; it asks nobody."""
    return session().client("s3", endpoint_url=endpoint, config=config())
