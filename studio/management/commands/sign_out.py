"""Sign somebody out wherever they are signed in: `manage.py sign_out USERNAME`, or everybody: `--all`."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils.translation import gettext as _

from studio.models import Person
from studio.sessions import end_all


class Command(BaseCommand):
    help = "End all sessions of a person; --all: of everybody. Whoever knows the password signs in anew."

    def add_arguments(self, parser: CommandParser) -> None:
        whose = parser.add_mutually_exclusive_group(required=True)
        whose.add_argument("username", nargs="?", help="who is to be signed out")
        whose.add_argument("--all", action="store_true", dest="everybody", help="sign everybody out")

    def handle(self, *_args: Any, username: str | None, everybody: bool, **_options: Any) -> None:  # noqa: ANN401  # as BaseCommand has it
        person = None if everybody else Person.objects.filter(username__iexact=username).first()
        if person is None and not everybody:
            raise CommandError(_("Nobody has this user name."))
        self.stdout.write(_("Sessions ended: %d.") % end_all(person))
