"""`manage.py measure_opening FILE`: the opening of a reed photographed tip-on, as JSON."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from reeds.management.json_command import JsonCommand
from reeds.photo.vision import shell
from reeds.photo.vision.refusal import PhotoRefused


class Command(JsonCommand):
    """Measures an opening."""

    help = "Measure a reed's opening in a photo taken tip-on, marked blade up; print JSON."
    refusals = (PhotoRefused,)

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument(
            "--tip-width", type=float, metavar="MM", help="the blades' width, corner to corner"
        )

    def answer(self, options: dict[str, Any]) -> object:
        return shell.measure_opening(options["file"].read_bytes(), options["tip_width"])
