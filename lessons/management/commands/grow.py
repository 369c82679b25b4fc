"""Grows invented studios beside the demo's, to measure how the site does with very many."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from lessons.demo.growing.grow import HasPeople, grow
from lessons.demo.load import load


class Command(BaseCommand):
    help = (
        "Makes N studios like the demo's, quickly and always the same; only where all studios are invented."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--studios", type=int, required=True, metavar="N")

    def handle(self, *args: Any, **options: Any) -> None:  # noqa: ANN401  # as Django calls it
        if settings.PRODUCTION:
            raise CommandError("Nothing is grown with PRODUCTION=1: the teachers' password is known to all.")
        if options["studios"] < 1:
            raise CommandError("At least one studio: --studios 1.")
        try:
            told = self._told if options["verbosity"] > 1 else lambda _words: None
            grown = grow(options["studios"], load, told)
        except HasPeople as error:
            raise CommandError(str(error)) from error
        self.stdout.write(str(grown))

    def _told(self, words: str) -> None:
        self.stdout.write(words)
        self.stdout.flush()
