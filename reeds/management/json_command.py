"""Commands for scripts: one JSON object and status 0, or one sentence on standard error and status 2.

The object is the same in every language; the sentence is in the one asked for, else in the shell's own.
"""

from __future__ import annotations

import json
import sys
from abc import abstractmethod
from typing import Any, NoReturn

from django.conf import settings
from django.core.management.base import BaseCommand, CommandParser
from django.utils import translation
from django.utils.translation import gettext as _

from reeds.numbers.words import Refused
from reeds.wording import say
from studio.reading import of_the_shell


class JsonCommand(BaseCommand):
    """Prints what `answer` returns; what it raises of `refusals` becomes the sentence."""

    requires_system_checks = []
    refusals: tuple[type[Exception], ...] = (ValueError,)

    @abstractmethod
    def answer(self, options: dict[str, Any]) -> object:
        """Return what is printed, of plain JSON types."""

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> CommandParser:  # noqa: ANN401 - Django's own signature
        parser = super().create_parser(prog_name, subcommand, **kwargs)
        # argparse would print its usage, several lines, before the sentence
        parser.error = self._refuse  # type: ignore[method-assign]
        parser.add_argument(
            "--language",
            choices=[code for code, _name in settings.LANGUAGES],
            help="in which a refusal is said; else as LC_ALL, LC_MESSAGES or LANG have it",
        )
        return parser

    def handle(self, *args: Any, **options: Any) -> None:  # noqa: ANN401 - Django's own signature
        with translation.override(options["language"] or of_the_shell()):
            self._answer(options)

    def _answer(self, options: dict[str, Any]) -> None:
        try:
            report = self.answer(options)
        except OSError as error:
            self._refuse(_("%(file)s: %(why)s.") % {"file": error.filename, "why": error.strerror})
        except self.refusals as error:
            self._refuse(say(error) if isinstance(error, Refused) else _(str(error)))
        self.stdout.write(json.dumps(report))

    def _refuse(self, message: str) -> NoReturn:
        self.stderr.write(message)
        sys.exit(2)
