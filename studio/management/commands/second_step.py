"""Take somebody's second step away who lost phone and codes: `manage.py second_step USERNAME --take-away`."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils.translation import gettext as _

from studio.models import Person
from studio.second_step import forget_second_step, has_second_step


class Command(BaseCommand):
    help = "Say whether somebody signs in with a second step; --take-away: by the password alone again."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("username", help="whose second step")
        parser.add_argument("--take-away", action="store_true", help="for who lost phone and printed codes")

    def handle(self, *_args: Any, username: str, take_away: bool, **_options: Any) -> None:  # noqa: ANN401  # as BaseCommand has it
        person = Person.objects.filter(username__iexact=username).first()
        if person is None:
            raise CommandError(_("Nobody has this user name."))
        if take_away:
            forget_second_step(person)
        says = (
            _("%s signs in with a second step.") if has_second_step(person) else _("%s signs in by password.")
        )
        self.stdout.write(says % person.username)
