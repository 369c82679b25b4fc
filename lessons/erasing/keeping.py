"""What a studio keeps no longer than it chose: shown before it goes, erased by the worker each day.

What a round that waits for an answer or a draft holds stays, and so does what a withdrawn consent decides
about. Model reeds and the recordings of a player's present reference reed stay as long as they are that.
"""

from __future__ import annotations

import datetime as dt
import logging
from calendar import monthrange
from collections.abc import Callable
from dataclasses import dataclass

from django.db import DatabaseError, transaction
from django.db.models import Exists, OuterRef, Q

from lessons.answering.models import Answer
from lessons.erasing.actions import Pictures, erase, erase_person
from lessons.sending.models import Submission
from reeds.photo.models.photo import Photo
from reeds.take.models import Take
from studio.consented import hidden
from studio.errors import NotPossible
from studio.journal import Happened, JournalEntry, note
from studio.models import Member, MemberQuerySet, Studio

logger = logging.getLogger("lessons.erasing")
# how far ahead a preview looks, in days: what goes by the next day, month, three months
AHEAD = (1, 31, 92)


def months_before(now: dt.datetime, months: int) -> dt.datetime:
    """Return the moment so many months ago; of a day that month has not, its last."""
    year, month = divmod(now.year * 12 + now.month - 1 - months, 12)
    day = min(now.day, monthrange(year, month + 1)[1])
    return now.replace(year=year, month=month + 1, day=day)


def old_pictures(studio: Studio, now: dt.datetime) -> Pictures:
    """Return what of a studio's photos, recordings and spoken notes has been kept long enough."""
    if studio.keep_pictures_months is None:
        return Pictures(Photo.objects.none(), Take.objects.none(), Answer.objects.none())
    before = months_before(now, studio.keep_pictures_months)
    # what is hidden, since a consent was taken back, has times of its own
    photos = Photo.objects.kept().filter(studio=studio, sent_at__lt=before, reed__is_model=False)
    takes = Take.objects.kept().filter(studio=studio, at__lt=before, reed__is_reference=False)
    spoken = Answer.objects.filter(studio=studio, sent_at__lt=before, voice__isnull=False)
    needed = Submission.objects.filter(answered_at__isnull=True)
    return Pictures(
        photos.shown().exclude(Exists(needed.filter(photos=OuterRef("pk")))),
        takes.shown().exclude(Exists(needed.filter(takes=OuterRef("pk")))),
        spoken.filter(submission__answered_at__isnull=False).exclude(hidden("submission__student")),
    )


def old_members(studio: Studio, now: dt.datetime) -> MemberQuerySet:
    """Return who left long enough ago, and has no round that waits for an answer."""
    if studio.keep_former_months is None:
        return Member.objects.former().none()
    before = months_before(now, studio.keep_former_months)
    waiting = Submission.objects.waiting().filter(student=OuterRef("pk"), reed__taken_out_at__isnull=True)
    left = Member.objects.former().filter(studio=studio, left_at__lt=before)
    return left.exclude(Exists(waiting)).select_related("person")


@dataclass(frozen=True)
class Going:
    """What goes by a moment: how many of each, and who."""

    by: dt.datetime
    photos: int
    takes: int
    spoken: int
    people: list[Member]


def going(studio: Studio, now: dt.datetime) -> list[Going]:
    """Return what would go by tomorrow, within a month and within three, as the studio's times are now."""
    moments = [now + dt.timedelta(days=days) for days in AHEAD]
    return [_going(studio, moment) for moment in moments]


def _going(studio: Studio, moment: dt.datetime) -> Going:
    old = old_pictures(studio, moment)
    people = list(old_members(studio, moment))
    return Going(moment, old.photos.count(), old.takes.count(), old.spoken.count(), people)


def keep_times(a_day_ago: dt.datetime) -> None:
    """Erase what was kept long enough, each person by themselves; the sweep counts from a day ago.

    Trouble with one keeps no other: what is left goes the next day.
    """
    now = a_day_ago + dt.timedelta(days=1)
    JournalEntry.objects.forget_old(now)
    chosen = Q(keep_pictures_months__isnull=False) | Q(keep_former_months__isnull=False)
    for studio in Studio.objects.filter(chosen):
        for member in old_members(studio, now):
            _in_peace(erase_person, member, None)
        for owner in _owners(old_pictures(studio, now)):
            _in_peace(_erase_old_of, owner, now)


def _owners(old: Pictures) -> list[Member]:
    rows = ((old.photos, "reed__owner"), (old.takes, "reed__owner"), (old.spoken, "submission__student"))
    found = {pk for some, path in rows for pk in some.values_list(path, flat=True)}
    return list(Member.objects.filter(pk__in=found).select_related("studio"))


def _erase_old_of(owner: Member, now: dt.datetime) -> None:
    old = old_pictures(owner.studio, now)
    theirs = {"reed__owner": owner}
    spoken = old.spoken.filter(submission__student=owner)
    erase(Pictures(old.photos.filter(**theirs), old.takes.filter(**theirs), spoken))
    note(Happened.ERASED_PICTURES, whose=owner)


def _in_peace(action: Callable[..., None], member: Member, *given: object) -> None:
    try:
        action(member, *given)
    except (DatabaseError, OSError, NotPossible) as trouble:
        logger.warning("member %s could not be erased as the studio's times say: %s", member.pk, trouble)


@transaction.atomic
def choose_times(studio: Studio, by: Member) -> None:
    """Keep the times as they were chosen."""
    studio.save(update_fields=["keep_pictures_months", "keep_former_months"])
    note(Happened.KEEPING, by=by)
