"""What would go with a person and what would stay, before it is done."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from lessons.answering.models import Answer
from lessons.erasing.parts import NUMBERS, WORDS
from reeds.photo.models.photo import Photo
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.playing import PlayingTest
from reeds.reed.models.reed import Reed
from reeds.take.models import Take
from studio.erasing import check_may_erase
from studio.errors import NotPossible
from studio.models import Member, Person


@dataclass
class Preview:
    """What goes, what goes too where numbers are to go, and what stays else: names and how many of each."""

    member: Member
    goes: list[tuple[Any, int]] = field(init=False)
    numbers: list[tuple[Any, int]] = field(init=False)

    def __post_init__(self) -> None:
        words = [(part.name, part.rows(self.member).count()) for part in WORDS]
        self.goes = [(name, many) for name, many in (*self._pictures(), *words) if many]
        self.numbers = [(name, many) for name, many in self._numbers() if many]

    def _pictures(self) -> list[tuple[Any, int]]:
        photos = Photo.objects.kept().filter(reed__owner=self.member)
        takes = Take.objects.kept().filter(reed__owner=self.member)
        spoken = Answer.objects.filter(submission__student=self.member, voice__isnull=False)
        return [
            (_("photos"), photos.count()),
            (_("recordings"), takes.count()),
            (_("spoken notes to them"), spoken.count()),
        ]

    def _numbers(self) -> list[tuple[Any, int]]:
        measured = Measurement.objects.filter(reed__owner=self.member)
        tests = PlayingTest.objects.filter(reed__owner=self.member)
        named = [(part.name, part.rows(self.member).count()) for part in NUMBERS if part.model is not Reed]
        return [
            (_("reeds"), Reed.objects.filter(owner=self.member).count()),
            (_("numbers"), measured.count()),
            (_("playing tests"), tests.count()),
            *named,
        ]

    @property
    def account_stays(self) -> bool:
        """Whether the account is of another studio too."""
        elsewhere = Member.objects.filter(person=self.member.person_id).exclude(pk=self.member.pk)
        return self.member.person.is_superuser or elsewhere.exists()


@transaction.atomic
def why_not(member: Member, by: Member) -> str:
    """Return why this member cannot be erased by that one now, '' if they can."""
    try:
        check_may_erase(member, by)
    except NotPossible as refusal:
        return str(refusal)
    return ""


def previews_of(person: Person) -> list[Preview]:
    """Return what would go of somebody's account: of each studio they were in."""
    members = Member.objects.filter(person=person).select_related("studio", "person")
    return [Preview(member) for member in members]
