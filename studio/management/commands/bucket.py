"""Makes the bucket of kept files ready: there, reached by us, open to what pages of this site send."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.files.storage import default_storage
from django.core.management.base import BaseCommand, CommandError

from studio.environment import origin_of
from studio.errors import FilesUnreachable


class Command(BaseCommand):
    help = "Make the bucket of S3_BUCKET if it is not there, and let pages of SITE_ADDRESS send files to it."
    requires_system_checks = ()

    def handle(self, *_args: Any, **_options: Any) -> None:  # noqa: ANN401  # as BaseCommand has it
        if not settings.S3_BUCKET:
            raise CommandError("S3_BUCKET is not set: files lie on the disk.")
        bucket: Any = default_storage
        try:
            bucket.make_ready(origin_of(settings.SITE_ADDRESS))
        except (FilesUnreachable, FileNotFoundError) as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"{settings.S3_BUCKET} at {settings.S3_ENDPOINT} is ready.")
