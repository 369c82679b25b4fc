"""The load counts what was acknowledged: what is lost, and what is there twice, it sees."""

from __future__ import annotations

import uuid

import pytest
from django.utils import timezone

from lessons.sending.models import Submission
from tests import factories as make
from tests.load.__main__ import went_wrong
from tests.load.rows import count

pytestmark = pytest.mark.django_db


def typed(draft, question):
    said = {"key": str(draft.key), "question": question}
    return [{"kind": "tried", **said}, {"kind": "draft", **said}]


@pytest.fixture
def sent(student):
    """A round with a photo, a draft, and what their senders were told."""
    reed = make.ReedFactory(owner=student)
    photo = make.ready_photo(reed)
    of_reed = {"studio": student.studio, "student": student, "reed": reed}
    round_ = Submission.objects.create(**of_reed, question="q1", sent_at=timezone.now())
    round_.photos.add(photo)
    draft = Submission.objects.create(**of_reed, round=2, question="q3")
    kept = [
        {"kind": "photo", "key": str(photo.key)},
        {"kind": "round", "key": str(round_.key), "question": "q1", "photo": str(photo.key)},
        *typed(draft, "q2"),
        *typed(draft, "q3"),
    ]
    return round_, photo, draft, kept


def wrong(kept):
    return count({"kept": kept})["wrong"]


def test_nothing_is_wrong_with_what_is_there(sent):
    *_rows, kept = sent
    assert count({"kept": kept}) == {"acknowledged": 4, "wrong": []}


def test_what_came_after_it_and_had_no_reply_is_not_lost(sent):
    _round, _photo, draft, kept = sent
    kept.append({"kind": "tried", "key": str(draft.key), "question": "q4"})
    assert wrong(kept) == []
    draft.question = "q4"
    draft.save()
    assert wrong(kept) == []


def test_what_is_lost_is_seen(sent):
    round_, _photo, draft, kept = sent
    round_.photos.clear()
    draft.question = "q2"
    draft.save()
    kept.append({"kind": "photo", "key": str(uuid.uuid4())})
    kept.append({"kind": "answer", "submission": round_.pk, "words": "well"})
    first, second, third, fourth = sorted(wrong(kept))
    assert first.startswith("0 rows of an acknowledged {'kind': 'answer'")
    assert second.startswith("0 rows of an acknowledged {'kind': 'photo'")
    assert third.startswith("0 rows of an acknowledged {'kind': 'round'")
    assert fourth.startswith(f"draft {draft.key} holds")


def test_what_is_there_twice_or_waits_for_ever_is_seen(sent):
    round_, photo, _draft, kept = sent
    other = make.ReedFactory(owner=round_.student)
    Submission.objects.create(studio=other.studio, student=other.owner, reed=other, question="q1")
    photo.state = "waiting"
    photo.save()
    first, second = sorted(wrong(kept))
    assert first == "'q1' is there 2 times"
    assert second.startswith(f"photo {photo.pk} is waiting")


@pytest.mark.parametrize(
    "found",
    [
        {"requests": [{"failed": 0}, {"failed": 1}]},
        {"errors": {"desk: no answer": 1}},
        {"wrong": ["0 rows of an acknowledged photo"]},
        {"lag": {"left": 1}},
    ],
)
def test_a_load_fails_where_a_request_did_or_anything_is_lost_or_undone(found):
    well = {"requests": [{"failed": 0}], "errors": {}, "wrong": [], "lag": {"left": 0}}
    assert not went_wrong(well)
    assert went_wrong(well | found)
