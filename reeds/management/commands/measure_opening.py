"""`manage.py measure_opening FILE`: the opening of a reed photographed tip-on, as JSON."""

from __future__ import annotations

import json
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from reeds.photos import shell
from reeds.photos.refusal import PhotoRefused


class Command(BaseCommand):
    """Measures an opening."""

    help = "Measure a reed's opening in a photo taken tip-on, marked blade up; print JSON."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument(
            "--tip-width", type=float, metavar="MM", help="the blades' width, corner to corner"
        )

    def handle(self, *args: Any, **options: Any) -> None:  # noqa: ANN401 - Django's own signature
        try:
            report = shell.measure_opening(options["file"].read_bytes(), options["tip_width"])
        except (PhotoRefused, OSError) as error:
            self.stderr.write(str(error))
            sys.exit(2)
        self.stdout.write(json.dumps(report))
