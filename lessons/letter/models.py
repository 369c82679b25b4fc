"""A letter of a term to a student and whoever reads it with them, and the studio's report of a term."""

from __future__ import annotations

import uuid
from typing import Any, ClassVar, Self

from django.db import models
from django.db.models import F, Q, QuerySet
from django.utils import timezone
from django.utils.translation import get_language
from django.utils.translation import gettext_lazy as _

from lessons.voice.models import Voice
from reeds.photo.models.photo import Photo
from studio.access import Seer, StudioQuerySet, StudioRow
from studio.files import delete_after_commit
from studio.keys import OneStudioKey, StudioKey
from studio.models import Member, Term

MAX_WORDS = 1800
MAX_LINE = 200
MOST_PICTURES = 3
# so many lines of each kind and no more, so that the letter stays one sheet of paper
MOST: dict[str, int] = {"sentences": 3, "comes_back": 4, "agreed": 4}


class PressState(models.TextChoices):
    """Where the worker is with a PDF; '' where none was asked for."""

    WAITING = "waiting", _("being made")
    READY = "ready", _("ready")
    FAILED = "failed", _("not made")


def sheet_path(row: OnPaper, _filename: str) -> str:
    """Return a path that tells nothing about the person, and another each time."""
    return f"letters/{row.studio_id}/{uuid.uuid4().hex}.pdf"  # type: ignore[attr-defined]  # a StudioRow


class OnPaper(models.Model):
    """The columns of a row that is made as a PDF; `pdf_of` says of what exactly the file was made."""

    pdf = models.FileField(upload_to=sheet_path, blank=True, editable=False)
    pdf_of = models.CharField(max_length=64, blank=True, editable=False)
    pdf_pages = models.PositiveSmallIntegerField(null=True, editable=False)
    pdf_state = models.CharField(max_length=8, choices=PressState.choices, blank=True, editable=False)
    pdf_refusal = models.CharField(max_length=300, blank=True, editable=False)

    class Meta:
        abstract = True

    @property
    def pdf_is_waiting(self) -> bool:
        return self.pdf_state == PressState.WAITING


def reader_language() -> str:
    """Return the language of a letter of which nobody said whose it is: that of the page."""
    return get_language() or "en"


class LetterQuerySet(StudioQuerySet["Letter"]):
    def visible_to(self, member: Seer) -> Self:
        """Return the letters this member may read: a draft is the teachers' alone."""
        rows = super().visible_to(member)
        return rows if member.teaches else rows.filter(given_at__isnull=False)

    def given(self) -> LetterQuerySet:
        return self.filter(given_at__isnull=False)

    def drafts(self) -> LetterQuerySet:
        return self.filter(given_at__isnull=True)

    def let_go_of_papers(self) -> None:
        """Delete their PDFs: who wants one has it made anew, of what the letter shows then."""
        rows = self.exclude(pdf="", pdf_state="")
        delete_after_commit([letter.pdf for letter in rows])
        rows.update(pdf="", pdf_of="", pdf_pages=None, pdf_state="", pdf_refusal="")

    def of(self, student: Member | int, term: Term | int) -> LetterQuerySet:
        """Return a student's letters of a term, the newest version first."""
        return self.filter(student=student, term=term).order_by("-version")


def _lines() -> Any:  # noqa: ANN401  # a field
    return models.JSONField(default=list)


class Letter(OnPaper, StudioRow):
    """One version of a letter: a draft until it is given, then it stays as it is.

    What was proposed from the term's figures is kept as text, so that a letter says in a year what it said.
    The term's name and days are the letter's own, since a term can be taken away.
    """

    owner_path = "student"

    student = StudioKey(Member, on_delete=models.CASCADE, related_name="letters")
    term = StudioKey(Term, null=True, on_delete=models.SET_NULL, related_name="letters")
    term_name = models.CharField(max_length=60)
    starts_on = models.DateField()
    ends_on = models.DateField()
    version = models.PositiveSmallIntegerField(default=1)
    language = models.CharField(max_length=12, default=reader_language)

    sentences = _lines()
    comes_back = _lines()
    agreed = _lines()
    words = models.TextField(_("your words"), max_length=MAX_WORDS, blank=True)
    next_aim = models.CharField(_("the next aim"), max_length=MAX_LINE, blank=True)
    # spoken to be written down: only who spoke hears it, and it goes when the letter is given
    voice = StudioKey(Voice, null=True, editable=False, on_delete=models.SET_NULL, related_name="letters")

    begun_at = models.DateTimeField(default=timezone.now, editable=False)
    saved_at = models.DateTimeField(null=True, editable=False)
    given_at = models.DateTimeField(null=True, editable=False)
    given_by = StudioKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")

    objects: ClassVar[LetterQuerySet] = LetterQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["-starts_on", "-version"]
        constraints = [
            models.UniqueConstraint(
                fields=["studio", "student", "term", "version"], name="letter_version_once"
            ),
            models.UniqueConstraint(
                fields=["studio", "student", "term"],
                condition=Q(given_at__isnull=True),
                name="one_draft_letter_a_term",
            ),
            models.CheckConstraint(condition=Q(ends_on__gte=F("starts_on")), name="letter_days_in_order"),
        ]

    def __str__(self) -> str:
        return f"{self.student}, {self.term_name}"

    @property
    def is_draft(self) -> bool:
        return self.given_at is None

    @property
    def says_something(self) -> bool:
        """Whether anything stands in it but its pictures."""
        return bool(self.sentences or self.comes_back or self.agreed or self.words or self.next_aim)

    def chosen_pictures(self) -> QuerySet[LetterPicture]:
        """Return its pictures in their order, those too that can be shown no longer."""
        return self.pictures.select_related("photo__measuring").order_by("place")


class LetterPicture(StudioRow):
    """One photo of a letter, and what stands beside it."""

    owner_path = "letter__student"

    letter = StudioKey(Letter, on_delete=models.CASCADE, related_name="pictures")
    photo = StudioKey(Photo, null=True, on_delete=models.SET_NULL, related_name="+")
    place = models.PositiveSmallIntegerField()
    caption = models.CharField(max_length=200)

    class Meta:
        ordering = ["place"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "letter", "place"], name="letter_picture_place_once")
        ]

    def __str__(self) -> str:
        return self.caption


class TermReport(OnPaper, StudioRow):
    """The studio's report of a term as it was last made: the page that was pressed, of that moment."""

    owner_path = "made_by"  # no student is one: it is the teachers'

    term = OneStudioKey(Term, on_delete=models.CASCADE, related_name="report")
    made_by = StudioKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    html = models.TextField(blank=True, editable=False)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["studio", "term"], name="report_once_a_term")]

    def __str__(self) -> str:
        return str(self.term)
