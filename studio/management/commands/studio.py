"""Open a studio with its first teacher: `manage.py studio "Name of the studio" --teacher USERNAME`."""

from __future__ import annotations

from argparse import ArgumentParser

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from studio.actions import open_studio
from studio.links import address


class Command(BaseCommand):
    help = (
        "Open a studio. A teacher who is new here gets a link, good once and for a week, to choose a "
        "password; who has forgotten it later: manage.py changepassword USERNAME."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("name", help="what the studio is called")
        parser.add_argument("--teacher", required=True, metavar="USERNAME", help="who teaches in it")
        parser.add_argument(
            "--name", dest="person_name", default="", help="the teacher's name as people write it"
        )

    def handle(self, *args: object, **options: str) -> None:
        try:
            teacher, link = open_studio(options["name"], options["teacher"], options["person_name"])
        except ValidationError as problem:
            raise CommandError(" ".join(problem.messages)) from problem
        names = {"studio": teacher.studio, "teacher": teacher}
        self.stdout.write(_("%(studio)s is open; %(teacher)s teaches in it.") % names)
        if link:
            self.stdout.write(_("To choose a password, open this once, within a week:"))
            self.stdout.write(address(link))
