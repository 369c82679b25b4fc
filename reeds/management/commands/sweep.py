"""Takes away files of photos and recordings that no row holds; the worker does it once a day."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand

from reeds.sweep import sweep


class Command(BaseCommand):
    help = "Delete files of photos and recordings, older than a day, that nothing refers to."

    def handle(self, *args: Any, **options: Any) -> None:  # noqa: ANN401  # as BaseCommand has it
        count = sweep()
        if options["verbosity"]:
            self.stdout.write(f"{count} files that nothing refers to were deleted.")
