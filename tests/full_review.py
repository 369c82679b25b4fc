"""A round as full as rounds get: eight photos, nine takes, the fifth of its reed; for the bench.

It grows from a round of the demo that waits with nine takes: what is added is copied from the demo's own
photos, findings and words. Rounds before it are answered, each with a mark on one of its photos.
"""

from __future__ import annotations

import datetime as dt
import uuid
from itertools import cycle, islice

from lessons.answering.models import Answer, Decision, Mark, Reply
from lessons.sending.models import Submission
from reeds.photo.models.measuring import PhotoMeasuring
from reeds.photo.models.photo import Photo
from studio.models import Member
from tests import factories as make

PHOTOS, TAKES, ROUNDS = 8, 9, 5


def filled(row: Submission, teacher: Member) -> Submission:
    """Give a round that waits so many photos and rounds before it; its takes it has."""
    assert row.takes.count() == TAKES
    photos = list(row.photos.order_by("pk"))
    row.photos.add(*(_again(photo) for photo in islice(cycle(photos), PHOTOS - len(photos))))
    drafts = Submission.objects.filter(studio=row.studio_id, reed=row.reed_id, sent_at=None)
    drafts.update(round=ROUNDS + 1)
    there = row.reed.submissions.filter(round__lt=row.round)
    Submission.objects.filter(pk=row.pk).update(round=ROUNDS)
    earlier = [*there, *(_before(row, number, photos) for number in range(row.round, ROUNDS))]
    for one in earlier:
        if not one.answers.exists():
            _answered(one, teacher)
    assert len(earlier) == ROUNDS - 1
    return Submission.objects.get(pk=row.pk)


def _again(photo: Photo) -> Photo:
    """Return another photo with the same files, as the worker found it and as somebody measured it."""
    measuring = PhotoMeasuring.objects.filter(photo=photo).first()
    copy = Photo.objects.get(pk=photo.pk)
    copy.pk, copy.key, copy._state.adding = None, uuid.uuid4(), True
    copy.save()
    if measuring:
        measuring.pk, measuring.photo, measuring._state.adding = None, copy, True
        measuring.save()
    return copy


def _before(row: Submission, number: int, photos: list[Photo]) -> Submission:
    """Return an earlier round of the same reed, sent with two photos and what the checks said then."""
    sent_at = row.sent_at - dt.timedelta(days=ROUNDS - number)
    said = {"question": "Is this one worth scraping?", "findings": row.findings, "need": row.need}
    one = make.SubmissionFactory(
        reed=row.reed, round=number, stage=row.stage, version=row.version, sent_at=sent_at, **said
    )
    one.photos.set([_again(photo) for photo in photos])
    return one


def _answered(one: Submission, teacher: Member) -> None:
    """Answer it, with a mark on its first photo and what the student said back."""
    at = one.sent_at + dt.timedelta(hours=9)
    answer = Answer.objects.create(
        studio=one.studio,
        submission=one,
        author=teacher,
        words="The left blade is still thicker than the right: a little off its side, then send it again.",
        decision=Decision.WORK,
        next_step="Take a little off the thicker blade.",
        saved_at=at,
        sent_at=at,
    )
    Submission.objects.filter(pk=one.pk).update(answered_at=at, read_at=at)
    photo = one.photos.order_by("pk")[0]
    Mark.objects.create(
        studio=one.studio, answer=answer, photo=photo, annotation=make.mark("arrow", "Here."), made_at=at
    )
    back = {"by": one.student, "words": "I will.", "at": at, "read_at": at}
    Reply.objects.create(studio=one.studio, submission=one, **back)
