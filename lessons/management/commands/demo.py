"""Loads the invented studio, or takes it away whole."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from lessons.demo import people
from lessons.demo.load import load, remove
from studio.models import Person, Studio


class Command(BaseCommand):
    help = "Loads the invented demo studio; --if-empty: only where there is none; --remove: takes it away."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--remove", action="store_true")
        parser.add_argument("--if-empty", action="store_true")
        parser.add_argument("--sign-ins", action="store_true", help="only tell how to sign in")

    def handle(self, *args: Any, **options: Any) -> None:  # noqa: ANN401  # as Django calls it
        if options["remove"]:
            self.stdout.write("The demo studio is gone." if remove() else "There was no demo studio.")
            return
        if options["sign_ins"]:
            self.stdout.write(sign_ins())
            return
        if settings.PRODUCTION:
            raise CommandError("The demo is not loaded with PRODUCTION=1: its passwords are known to all.")
        if options["if_empty"] and Studio.objects.exists():
            return
        self._load()
        self.stdout.write(sign_ins())

    def _load(self) -> None:
        others = (people.TEACHER, people.ASSISTANT, people.GUARDIAN)
        names = [name for name, _called in others] + [hand.username for hand in people.HANDS]
        taken = Person.objects.filter(username__in=names).values_list("username", flat=True)
        if taken:
            raise CommandError(f"The demo needs these user names, and they are taken: {', '.join(taken)}.")
        load()


def sign_ins() -> str:
    """Return the lines that tell how to sign in."""
    students = ", ".join(hand.username for hand in people.HANDS)
    return (
        f"Demo studio '{people.STUDIO}', everybody's password: {people.PASSWORD}\n"
        f"  teacher:  {people.TEACHER[0]}\n  assistant teacher: {people.ASSISTANT[0]}\n"
        f"  students: {students}\n  guardian: {people.GUARDIAN[0]}"
    )
