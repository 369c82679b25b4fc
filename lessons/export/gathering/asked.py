"""What was asked of a term, and the lists of reeds that were brought in."""

from __future__ import annotations

from lessons.comparison.models import AskedQuestion
from lessons.export.gathering.scope import Rows, Scope
from lessons.export.gathering.source import ID, Source, moment, person, plain
from lessons.export.packing.shapes import Kind
from lessons.log.models import ReedLog
from reeds.numbers.words import gettext_noop as _


def of_the_studio(scope: Scope, rows: Rows) -> Rows:
    """Return what is asked of all students together; in one student's export none of it."""
    return rows.none() if scope.student else rows


QUESTIONS = Source(
    name="questions",
    said=_("One row for each question that was asked of a term: does this go with that?"),
    model=AskedQuestion,
    taken=lambda scope: of_the_studio(scope, AskedQuestion.objects.visible_to(scope.member)),
    when="at",
    fields=(
        ID,
        plain("term", _("of which term"), path="term__name"),
        plain("outcome", _("what was to be explained")),
        plain("factor", _("what may go with it")),
        plain("lot", _("of the reeds of which cane alone; empty for all")),
        person("by", _("who asked")),
        moment("at", _("when")),
    ),
)

LOGS = Source(
    name="logs",
    said=_("One row for each list of reeds that was brought in from elsewhere."),
    model=ReedLog,
    when="uploaded_at",
    whose="student",
    fields=(
        ID,
        plain("file", _("the name of its file"), path="name"),
        person("student", _("whose reeds they all are; empty where a column says it")),
        person("by", _("who brought it in")),
        plain("row_count", _("how many rows it has"), Kind.WHOLE),
        moment("uploaded_at", _("when it came")),
        moment("written_at", _("when its reeds were brought in")),
        moment("undone_at", _("when that was taken back")),
    ),
)

TABLES = (QUESTIONS, LOGS)
