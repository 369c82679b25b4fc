"""Erasing for good: photos and recordings with all that is made of them, or a person; counts stay.

Rows are changed in one transaction, files go once it holds. What a process that was killed then leaves has
no row any more, and the sweep takes it. A copy of the site made before holds them until it goes itself.
"""

from __future__ import annotations

from dataclasses import dataclass

from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils import timezone

from lessons.answering.actions.erase import erase_marks, erase_voices
from lessons.answering.models import Answer
from lessons.demonstration.actions import erase_shown
from lessons.demonstration.models import Demonstration
from lessons.erasing.parts import NUMBERS, WORDS
from lessons.export.models import Export
from lessons.letter.models import Letter
from lessons.sending.models import Submission
from lessons.voice.actions import drop_notes
from reeds.photo.actions.photo import erase_photos
from reeds.photo.models.photo import Photo, PhotoQuerySet
from reeds.reed.models.reed import Reed
from reeds.take.actions import erase_takes
from reeds.take.models import Take, TakeQuerySet
from studio.erasing import check_may_erase, let_go_of_account, let_go_of_person
from studio.journal import Happened, note
from studio.models import Member, Person


@dataclass(frozen=True)
class Pictures:
    """What is to be erased together: photos, recordings, and answers whose spoken notes go."""

    photos: PhotoQuerySet
    takes: TakeQuerySet
    spoken: QuerySet[Answer]

    def is_there(self) -> bool:
        """Whether there is anything."""
        return self.photos.exists() or self.takes.exists() or self.spoken.exists()


@transaction.atomic
def erase_pictures_of(member: Member) -> None:
    """Erase all photos and recordings of a person's reeds, those they sent otherwise, what they showed."""
    theirs = Q(reed__owner=member) | Q(by=member)
    spoken = Answer.objects.filter(submission__student=member)
    erase(Pictures(Photo.objects.filter(theirs), Take.objects.filter(theirs), spoken))
    drop_notes(Letter.objects.filter(student=member))
    erase_shown(Demonstration.objects.filter(made_by=member), timezone.now())
    Export.objects.with_pictures_of(member).let_go()


def erase_pictures_of_reeds(reeds: QuerySet[Reed]) -> None:
    """Erase photos and recordings of these reeds, the marks on them and the notes spoken of them."""
    spoken = Answer.objects.filter(submission__reed__in=reeds)
    erase(Pictures(Photo.objects.filter(reed__in=reeds), Take.objects.filter(reed__in=reeds), spoken))


@transaction.atomic
def erase(these: Pictures) -> None:
    """Erase them, with the marks on them and the papers and exports that hold them."""
    at = timezone.now()
    photos = Photo.objects.filter(pk__in=list(these.photos.kept().values_list("pk", flat=True)))
    takes = Take.objects.filter(pk__in=list(these.takes.kept().values_list("pk", flat=True)))
    erase_voices(these.spoken)
    erase_marks(photos, takes)
    Letter.objects.filter(pictures__photo__in=photos).distinct().let_go_of_papers()
    of_them = Q(reeds__photos__in=photos) | Q(reeds__takes__in=takes)
    owners = list(Member.objects.filter(of_them).distinct())
    _take_out_of_drafts(photos, takes)
    erase_photos(photos, at)
    erase_takes(takes, at)
    for owner in owners:
        Export.objects.with_pictures_of(owner).let_go()


def _take_out_of_drafts(photos: PhotoQuerySet, takes: TakeQuerySet) -> None:
    """Have no draft hold what can be sent no longer; a round that was sent tells that it was there."""
    draft = {"submission__sent_at__isnull": True}
    Submission.photos.through._default_manager.filter(photo__in=photos, **draft).delete()
    Submission.takes.through._default_manager.filter(take__in=takes, **draft).delete()


@transaction.atomic
def erase_person(member: Member, by: Member | None, *, numbers_too: bool = False) -> None:
    """Erase somebody from a studio: name, words, photos, recordings, and the account if it is of no other.

    Numbers and counts stay under a number, unless they are to go too. `by` None: the studio's times of
    keeping. NotPossible for the last teacher, and where it is not `by`'s to do; twice is once.
    """
    member = Member.objects.select_for_update().get(pk=member.pk)
    if member.is_erased:
        return
    check_may_erase(member, by)
    erase_pictures_of(member)
    Letter.objects.filter(given_by=member).let_go_of_papers()  # they bear the name
    for part in WORDS + (NUMBERS if numbers_too else ()):
        part.erase(member)
    if numbers_too:
        member.lessons.clear()
        member.comparisons.clear()
    let_go_of_account(member)
    note(Happened.ERASED, by=by, whose=member)


@transaction.atomic
def erase_account(person: Person, *, numbers_too: bool = False) -> None:
    """Erase somebody who is in no studio now, wherever they were, by their own hand."""
    for member in Member.objects.filter(person=person):
        erase_person(member, member, numbers_too=numbers_too)
    let_go_of_person(person)
