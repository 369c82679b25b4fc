"""Recordings of a draft: added with a key that makes a second try harmless, removed until it is sent."""

from __future__ import annotations

import uuid

from django.core.files import File
from django.db import transaction
from django.utils.translation import gettext as _

from lessons.sending.actions.send import SentMeanwhile, still_a_draft
from lessons.sending.models import Submission
from reeds.reed.models.reed import Reed
from reeds.sheet.playing_items import PlayingItem
from reeds.take.actions import add_take, take_back
from reeds.take.models import Take
from studio.errors import NotPossible
from studio.models import Member

MAX_TAKES = 24


def attach_take(  # noqa: PLR0913  # what a recording is: of which reed, of what, with which recorder
    draft: Submission,
    reed: Reed,
    student: Member,
    upload: File[bytes],
    key: uuid.UUID,
    item: PlayingItem,
    granted: dict[str, bool | None],
) -> Take:
    """Add a recording to a draft; one that came before is answered with what is kept of it.

    `reed` is the draft's own, or the student's reference reed played in the same sitting.
    """
    there = draft.takes.filter(key=key).first()
    if there:
        return there
    if draft.sent_at:
        raise SentMeanwhile(draft)
    _room_for_one(draft)
    take = add_take(reed, student, upload, key, item, granted)
    if take.taken_back_at:  # a late second try of a recording that was removed meanwhile
        raise NotPossible(_("This recording was removed."))
    try:
        with transaction.atomic():
            locked = still_a_draft(draft)
            _room_for_one(locked)
            locked.takes.add(take)
    except NotPossible:
        take_back(take)
        raise
    take.refresh_from_db()  # a worker may be quick
    return take


def _room_for_one(draft: Submission) -> None:
    if draft.takes.count() >= MAX_TAKES:
        raise NotPossible(
            _("There are %(most)s recordings already. Remove one before you add another.")
            % {"most": MAX_TAKES}
        )


@transaction.atomic
def remove_take(draft: Submission, take: Take) -> None:
    """Take a recording out of a draft; one of a round that was sent stays."""
    still_a_draft(draft)
    draft.takes.remove(take)
    if not take.submissions.exists():
        take_back(take)
