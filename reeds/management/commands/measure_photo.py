"""`manage.py measure_photo FILE`: a reed's lengths from one photo, as JSON."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from reeds.management.json_command import JsonCommand
from reeds.photo.vision import shell
from reeds.photo.vision.card_view import Settings
from reeds.photo.vision.refusal import PhotoRefused


class Command(JsonCommand):
    """Measures a reed."""

    help = "Measure a reed in a photo: lengths in mm with their uncertainty, as JSON."
    refusals = (PhotoRefused,)

    def add_arguments(self, parser: ArgumentParser) -> None:
        add = parser.add_argument
        add("file", type=Path)
        add("--points", type=Path, help="JSON of landmark name to [x, y], px of the upright picture")
        other = parser.add_mutually_exclusive_group()
        other.add_argument("--known", type=float, nargs=5, metavar=("MM", "X1", "Y1", "X2", "Y2"))
        other.add_argument(
            "--id1", type=float, nargs=8, metavar=("X1", "Y1", "X2", "Y2", "X3", "Y3", "X4", "Y4")
        )
        add(
            "--print-factor",
            type=float,
            help="true over nominal length of the card's 100 mm bar; not said: 1, with 3 per cent of doubt",
        )
        add("--axis-height", help="FOOT or FOOT,TIP: mm of the reed's axis above the card")
        add("--focal-35mm", type=float, help="focal length for a 35 mm frame, instead of the file's")

    def answer(self, options: dict[str, Any]) -> object:
        return shell.measure_photo(
            options["file"].read_bytes(),
            shell.read_points(options["points"].read_text() if options["points"] else None),
            self._settings(options),
            known=options["known"],
            id1=options["id1"],
        )

    def _settings(self, options: dict[str, Any]) -> Settings:
        factor = options["print_factor"]
        return Settings(
            axis=shell.read_axis(options["axis_height"]),
            print_factor=None if factor is None else shell.read_factor(factor),
            focal_35mm=shell.read_focal(options["focal_35mm"]),
        )
