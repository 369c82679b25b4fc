"""Brings a list of reeds in from the shell, as the page does; with --check it only says what would come."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import translation
from django.utils.translation import gettext as _

from lessons.log.actions.keep import Upload, choose, discard, keep
from lessons.log.actions.undo import take_back
from lessons.log.actions.write import Agreed, bring_in, questions
from lessons.log.around import people_of, sheets_of
from lessons.log.choices import Choices
from lessons.log.found import Found
from lessons.log.models import ReedLog
from lessons.log.pages import LogPage, counted, told_in_lines
from lessons.log.table.days import Order
from lessons.log.table.existing import Existing
from lessons.log.table.headings import folded
from lessons.log.table.rows import MAX_BYTES
from studio.errors import NotPossible
from studio.models import Member, Studio
from studio.reading import of_the_shell

ROWS_IN_ERROR, REFUSED = 1, 2


class Command(BaseCommand):
    help = (
        "Brings a list of reeds (CSV or XLSX) into a studio. Ends with 0 if all is well, 1 if rows cannot be "
        "used, 2 if the list is refused or something must be settled first; then nothing is written."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", nargs="?", type=Path)
        parser.add_argument("--studio", help="its name or number")
        parser.add_argument("--student", help="name or user name, where no column says whose reeds they are")
        parser.add_argument("--check", action="store_true", help="only say what would come of it")
        parser.add_argument("--undo", type=int, metavar="ID", help="take a list back as one")
        parser.add_argument("--column", action="append", default=[], metavar="HEADING=KEY", dest="columns")
        parser.add_argument("--days", choices=[Order.DAY_FIRST.value, Order.MONTH_FIRST.value])
        parser.add_argument("--made-on", type=dt.date.fromisoformat, help="day of reeds that tell none")
        parser.add_argument("--sheet", help="measuring sheet of reeds that name none")
        parser.add_argument("--existing", choices=[one.value for one in Existing], default="refuse")
        parser.add_argument(
            "--leave-columns", action="store_true", help="leave out columns that are not known"
        )
        parser.add_argument("--leave-rows", action="store_true", help="leave out rows that cannot be used")
        parser.add_argument(
            "--again", action="store_true", help="even if this very file was brought in before"
        )

    def handle(self, *args: Any, **options: Any) -> None:  # noqa: ANN401  # as Django calls it
        try:
            with translation.override(of_the_shell()):
                self._import(options) if options["undo"] is None else self._undo(options["undo"])
        except NotPossible as refusal:
            raise CommandError(str(refusal), returncode=REFUSED) from None

    def _undo(self, pk: int) -> None:
        log = ReedLog.objects.filter(pk=pk).first()
        if log is None or log.written_at is None:
            raise NotPossible(_("No list %s was brought in.") % pk)
        gone = take_back(log)
        said = {"list": gone, "what": ", ".join(counted(gone.made))}
        self.stdout.write(_("%(list)s is taken back: %(what)s.") % said)

    def _import(self, options: dict[str, Any]) -> None:
        agreed = Agreed(options["leave_columns"], options["leave_rows"], options["again"])
        with kept_while(_upload(options)) as log:
            choose(log, _choices(log, options))
            self.stdout.write("\n".join(told_in_lines(LogPage(log))))
            self._end_if_not_settled(log, agreed)
            if not options["check"]:
                pk = bring_in(log, agreed).pk
                again = f"manage.py import_log --undo {pk}"
                self.stdout.write(_("Brought in. To take it back as one: %s") % again)

    def _end_if_not_settled(self, log: ReedLog, agreed: Agreed) -> None:
        """End with the status that says what stands in the way."""
        asked = questions(log, agreed)
        rows = Found.from_json(log.found).wrong_rows and not agreed.leave_rows
        if asked:
            status = ROWS_IN_ERROR if rows and len(asked) == 1 else REFUSED
            raise CommandError(" ".join(asked), returncode=status)


@contextmanager
def kept_while(upload: Upload) -> Iterator[ReedLog]:
    """Keep an upload while it is looked at; nothing of it stays unless it is brought in."""
    log = keep(upload)
    try:
        yield log
    finally:
        discard(log)


def _upload(options: dict[str, Any]) -> Upload:
    studio = _studio(options["studio"] or "")
    file: Path | None = options["file"]
    if file is None or not file.is_file():
        raise NotPossible(_("There is no file %s.") % file if file else _("Name the file of the list."))
    student = _student(studio, options["student"]) if options["student"] else None
    with file.open("rb") as raw:
        data = raw.read(MAX_BYTES + 1)  # so much is refused already
    return Upload(file.name, data, studio, None, student)


def _studio(said: str) -> Studio:
    found = Studio.objects.filter(pk=int(said)) if said.isdecimal() else Studio.objects.filter(name=said)
    if len(found) != 1:
        raise NotPossible(_("--studio wants the number or the name of one studio, not “%s”.") % said)
    return found[0]


def _student(studio: Studio, said: str) -> Member:
    pk = people_of(studio.pk).get(folded(said))
    if not pk:
        raise NotPossible(_("“%s” is nobody of this studio, or several: give the user name.") % said)
    return Member.objects.get(pk=pk)


def _choices(log: ReedLog, options: dict[str, Any]) -> Choices:
    """What the options choose; every column of days whose order is not shown has the one that is given."""
    chosen = log.chosen
    orders = dict.fromkeys(range(len(log.headings)), Order(options["days"])) if options["days"] else {}
    return replace(
        chosen,
        columns={**chosen.columns, **dict(_column(log, said) for said in options["columns"])},
        orders=orders,
        existing=Existing(options["existing"]),
        made_on=options["made_on"],
        sheet=_sheet(log, options["sheet"]) if options["sheet"] else chosen.sheet,
    )


def _column(log: ReedLog, said: str) -> tuple[int, str]:
    heading, parted, key = said.rpartition("=")
    if not parted or heading not in log.headings or (key and key not in LogPage(log).understood.columns):
        raise NotPossible(_("--column wants HEADING=KEY, or HEADING= to leave it out, not “%s”.") % said)
    return log.headings.index(heading), key


def _sheet(log: ReedLog, said: str) -> int:
    try:
        return sheets_of(log.studio_id)[folded(said)]
    except KeyError:
        raise NotPossible(_("“%s” is no measuring sheet of this studio.") % said) from None
