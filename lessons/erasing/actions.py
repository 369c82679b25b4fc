"""Erasing photos and recordings for good, with all that is made of them; numbers and counts stay.

Rows are changed in one transaction, files go once it holds. What a process that was killed then leaves has
no row any more, and the sweep takes it. A copy of the site made before holds them until it goes itself.
"""

from __future__ import annotations

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from lessons.answering.actions.erase import erase_marks_and_voices
from lessons.demonstration.actions import erase_shown
from lessons.demonstration.models import Demonstration
from lessons.export.actions import drop_with_pictures_of
from lessons.letter.actions import let_go_of_papers
from lessons.letter.models import Letter
from reeds.photo.actions.photo import erase_photos
from reeds.photo.models.photo import Photo
from reeds.reed.models.reed import Reed
from reeds.take.actions import erase_takes
from reeds.take.models import Take
from studio.models import Member


@transaction.atomic
def erase_pictures_of(member: Member) -> None:
    """Erase all photos and recordings of a person's reeds, those they sent otherwise, what they showed."""
    erase_pictures_of_reeds(Reed.objects.filter(owner=member))
    at = timezone.now()
    erase_photos(Photo.objects.filter(by=member), at)
    erase_takes(Take.objects.filter(by=member), at)
    erase_shown(Demonstration.objects.filter(made_by=member), at)
    _drop_copies([member])


@transaction.atomic
def erase_pictures_of_reeds(reeds: QuerySet[Reed]) -> None:
    """Erase photos and recordings of these reeds, the marks on them and the notes spoken of them."""
    at = timezone.now()
    erase_marks_and_voices(reeds)
    owners = list(Member.objects.filter(pk__in=reeds.values("owner")))
    let_go_of_papers(Letter.objects.filter(pictures__photo__reed__in=reeds).distinct())
    erase_photos(Photo.objects.filter(reed__in=reeds), at)
    erase_takes(Take.objects.filter(reed__in=reeds), at)
    _drop_copies(owners)


def _drop_copies(owners: list[Member]) -> None:
    """Delete the exports that hold them."""
    for owner in owners:
        drop_with_pictures_of(owner)
