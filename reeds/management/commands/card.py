"""`manage.py card OUT.pdf|OUT.png`: the printable card as a file, its places in mm as JSON."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from reeds.management.json_command import JsonCommand
from reeds.photo import printing as cards


class Command(JsonCommand):
    """Writes the card."""

    help = "Write the printable card as PDF (A6, and two on A4) or PNG; print its places in mm as JSON."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("out", type=Path, help="a file ending in .pdf or .png")
        parser.add_argument("--dpi", type=int, default=600, help="pixels an inch of the PNG, 72 to 2400")
        parser.add_argument("--number", type=int, default=1, help="the card's own number")

    def answer(self, options: dict[str, Any]) -> object:
        out: Path = options["out"]
        out.write_bytes(self._draw(out.suffix.lower(), options["number"], options["dpi"]))
        return cards.description(options["number"])

    def _draw(self, kind: str, number: int, dpi: int) -> bytes:
        if kind == ".png":
            return cards.png(number, dpi)
        if kind == ".pdf":
            return cards.pdf(number)
        raise ValueError("The card is written as .pdf or .png: give a file name that ends so.")
