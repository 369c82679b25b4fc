"""What goes with a person, model by model, and why the rest may stay: a test walks all models.

Words that a student wrote, and those that were written to them, go with the student. What somebody who
teaches wrote to students is the students': it stays, without the name.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Count, FileField, Model, Q, QuerySet
from django.utils.translation import gettext_lazy as _

from lessons.answering.models import Answer, Looking, Mark, Phrase, Reply
from lessons.calendar.models import CalendarLink
from lessons.comparison.models import Allotment
from lessons.demonstration.models import Demonstration
from lessons.export.models import Export
from lessons.lesson.models import Lesson, LessonNote, SetWork
from lessons.letter.models import Letter, TermReport
from lessons.log.models import ReedLog
from lessons.sending.models import Notice, Submission
from lessons.voice.models import Voice
from reeds.photo.models.card import PrintedCard
from reeds.reed.models.cane import CaneLot
from reeds.reed.models.knife import Knife
from reeds.reed.models.reed import Reed, ReedEvent
from reeds.sheet.models.pattern import Offset
from studio.files import delete_after_commit
from studio.models import Member

Whose = Callable[[Member], Q]


def at(*paths: str) -> Whose:
    """Return whose rows are meant: those of which any of these paths leads to the member."""
    return lambda member: Q(*((path, member) for path in paths), _connector=Q.OR)


@dataclass(frozen=True)
class Part:
    """Rows of one model that go with a person; or, where columns are named, what they say does."""

    name: Any
    model: type[Model]
    whose: Whose
    emptied: Mapping[str, object] = field(default_factory=dict)

    def rows(self, member: Member) -> QuerySet[Any]:
        """Return the rows that say something still."""
        theirs = self.model._default_manager.filter(self.whose(member), studio=member.studio_id)
        rows = self.model._default_manager.filter(pk__in=theirs.values("pk"))
        return rows.exclude(**self.emptied) if self.emptied else rows

    def erase(self, member: Member) -> None:
        """Do it; files go once it holds."""
        rows = self.rows(member)
        if self.emptied:
            rows.update(**self.emptied)
            return
        names = [one.name for one in self.model._meta.get_fields() if isinstance(one, FileField)]
        delete_after_commit([getattr(row, name) for row in rows for name in names])
        rows.delete()


def _alone(member: Member) -> Q:
    """Lessons that this student alone was at."""
    counted = Lesson.objects.alias(heads=Count("present")).filter(heads=1, studio=member.studio_id)
    return Q(pk__in=counted.values("pk"), present=member)


def _notes(member: Member) -> Q:
    """A student's notes of lessons, and all notes of lessons that were theirs alone."""
    alone = Q(lesson__in=Lesson.objects.filter(_alone(member)))
    return alone if member.teaches else alone | Q(by=member)


def _unsent(member: Member) -> Q:
    return Q(author=member, sent_at__isnull=True)


def _telling_of(member: Member) -> Q:
    """Exports that tell of this member: of the studio as a teacher sees it, and of themselves."""
    whole = Q(by_teacher=True, student__isnull=True, studio=member.studio_id)
    return whole | Q(member=member) | Q(student=member)


def _in_studio(member: Member) -> Q:
    return Q(studio=member.studio_id)


WORDS = (
    Part(
        _("rounds with a question or something typed"),
        Submission,
        at("student"),
        {"question": "", "draft": {}, "typed_at": {}},
    ),
    Part(_("replies"), Reply, at("submission__student")),
    Part(_("marks on photos and recordings"), Mark, at("answer__submission__student")),
    Part(
        _("answers"),
        Answer,
        at("submission__student"),
        {"words": "", "next_step": "", "caution": "", "template": {}},
    ),
    Part(_("answers not sent"), Answer, _unsent),
    Part(_("spoken notes"), Voice, at("by")),
    Part(_("usual words"), Phrase, at("teacher")),
    Part(_("letters of a term"), Letter, at("student")),
    Part(_("notes of a reed's life"), ReedEvent, at("reed__owner"), {"why": ""}),
    Part(_("notes of cane"), CaneLot, at("owner"), {"note": ""}),
    Part(_("reasons for what their instrument wants"), Offset, at("student"), {"why": ""}),
    Part(_("notes of lessons"), LessonNote, _notes),
    Part(_("what was agreed in lessons"), Lesson, _alone, {"agreed": ""}),
    Part(_("work that was set"), SetWork, at("student"), {"words": ""}),
    Part(_("reasons in comparisons"), Allotment, at("student"), {"not_kept_why": ""}),
    Part(_("lists brought in"), ReedLog, at("by", "student")),
    Part(_("demonstrations"), Demonstration, at("made_by")),
    Part(_("exports"), Export, _telling_of),
    Part(_("reports of terms, which name people"), TermReport, _in_studio),
    Part(_("calendars"), CalendarLink, at("member")),
    Part(_("what was noted as told"), Notice, at("to")),
    Part(_("open pages"), Looking, at("member")),
)

# what goes as well where somebody wants their numbers gone: the order is that of what hangs on what
NUMBERS = (
    Part(_("rounds"), Submission, at("student")),
    Part(_("events of reeds"), ReedEvent, at("reed__owner")),
    Part(_("reeds"), Reed, at("owner")),
    Part(_("lots of cane"), CaneLot, at("owner")),
    Part(_("printed cards"), PrintedCard, at("owner")),
    Part(_("knives"), Knife, at("owner")),
    Part(_("what their instrument wants"), Offset, at("student")),
    Part(_("set work"), SetWork, at("student")),
    Part(_("places in comparisons"), Allotment, at("student")),
)

# models with nothing in `WORDS`, and why
STAYS: dict[str, str] = {
    "studio.Person": "the account: it goes by `let_go_of_account`",
    "studio.Member": "a number is left of it, by `let_go_of_account`",
    "studio.Invitation": "goes by `let_go_of_account`",
    "studio.SignInLink": "goes by `let_go_of_account`",
    "studio.Phone": "goes with the account, and when one signs out on it",
    "studio.SentForm": "goes with the account, and within days",
    "studio.WorkerLease": "of a machine",
    "studio.Studio": "of nobody in particular",
    "studio.Term": "of nobody in particular",
    "studio.JournalEntry": "numbers and words of ours: that it was erased must stay known",
    "reeds.Reed": "numbers, and which shape and staple it was made with",
    "reeds.Measurement": "numbers",
    "reeds.PlayingTest": "numbers",
    "reeds.Rating": "numbers",
    "reeds.PrintedCard": "numbers",
    "reeds.Knife": "the day it was sharpened",
    "reeds.ToolReading": "numbers",
    "reeds.Photo": "goes by `erase_pictures_of`; that there was one stays",
    "reeds.PhotoMeasuring": "lengths; what lies in the picture goes by `erase_pictures_of`",
    "reeds.Take": "goes by `erase_pictures_of`; that there was one stays",
    "reeds.OwnDoubt": "the studio's",
    "reeds.OwnQuantity": "the studio's",
    "reeds.Pattern": "the studio's",
    "reeds.PatternVersion": "the studio's",
    "lessons.AskedQuestion": "keys of figures, no words",
    "lessons.PlannedComparison": "the studio's",
    "lessons.LetterPicture": "goes with its letter",
}
