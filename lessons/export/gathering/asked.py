"""What was asked of a term, what was planned to be compared, and lists of reeds that were brought in."""

from __future__ import annotations

from lessons.comparison.models import Allotment, AskedQuestion, Differs, PlannedComparison
from lessons.export.gathering.scope import Rows, Scope
from lessons.export.gathering.source import ID, Source, link, moment, of_reed, person, plain, word
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

COMPARISONS = Source(
    name="comparisons",
    said=_("One row for each comparison that was planned; what is planned is never changed."),
    model=PlannedComparison,
    when="made_at",
    whose="students",
    fields=(
        ID,
        person("made_by", _("who planned it")),
        moment("made_at", _("when")),
        word("differs", _("in what its two ways differ"), Differs.choices),
        plain("one", _("the one way")),
        plain("other", _("the other way")),
        plain("outcome", _("what is looked at in the end")),
        plain("blanks_each", _("how many blanks of each student"), Kind.WHOLE),
        plain("until", _("day until which blanks go their ways"), Kind.DAY),
        moment("stopped_at", _("when it was stopped early")),
        plain("stopped_why", _("why")),
        moment("taken_back_at", _("when it was taken back")),
    ),
)


def _people(scope: Scope) -> Rows:
    """Who takes part; of one student's export nobody but them."""
    rows: Rows = PlannedComparison.students.through._default_manager.all()
    seen = PlannedComparison.objects.visible_to(scope.member)
    return rows.filter(plannedcomparison__in=seen.values("pk"))


COMPARISON_PEOPLE = Source(
    name="comparison_people",
    said=_("Whose blanks take part in which comparison."),
    model=PlannedComparison.students.through,
    taken=_people,
    when="plannedcomparison__made_at",
    whose="member",
    fields=(
        link("comparison_id", "comparisons", _("the comparison"), path="plannedcomparison"),
        person("student", _("whose blanks"), path="member"),
    ),
)

# a place that no blank has taken is in nobody's export: what will be drawn next must stay unknown
PLACES = Source(
    name="comparison_places",
    said=_("One row for each blank that took its place in a comparison."),
    model=Allotment,
    when="taken_at",
    reed="reed",
    fields=(
        ID,
        link("comparison_id", "comparisons", _("the comparison"), path="plan"),
        of_reed(),
        plain("place", _("which of the student's places, from 1"), Kind.WHOLE),
        word("way", _("which way was drawn"), ((0, _("the one way")), (1, _("the other way"))), path="arm"),
        moment("taken_at", _("when the blank took it")),
        plain("not_kept_why", _("why it was not kept to")),
        person("not_kept_by", _("who said so")),
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

TABLES = (QUESTIONS, COMPARISONS, COMPARISON_PEOPLE, PLACES, LOGS)
