"""Two requests at the same moment, each in its own connection: the database lets one come after the other."""

import threading
import uuid

import pytest
from django.core.files.base import ContentFile
from django.db import connections

from lessons.sending import actions
from lessons.sending.models import Submission
from reeds.photo.models.photo import Photo
from studio.errors import NotPossible
from tests import factories as make

pytestmark = pytest.mark.django_db(transaction=True)
EMPTY = actions.Round([], {}, 5, [])


@pytest.fixture
def reed(student):
    return make.ReedFactory(owner=student)


def at_once(*acts):
    """Run each act in a thread of its own, all let go together; return what they returned or raised."""
    gate, results = threading.Barrier(len(acts)), [None] * len(acts)

    def run(place, act):
        gate.wait()
        try:
            results[place] = act()
        except NotPossible as refusal:
            results[place] = refusal
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run, args=pair) for pair in enumerate(acts)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=30)
    return results


def test_a_draft_begun_twice_at_once_is_one(reed, student):
    drafts = at_once(*[lambda: actions.draft_of(reed, student).pk] * 4)
    assert len(set(drafts)) == 1
    assert Submission.objects.count() == 1


def test_two_sends_at_once_make_one_round(reed, student):
    draft = actions.draft_of(reed, student)
    results = at_once(*[lambda: actions.send(Submission.objects.get(pk=draft.pk), EMPTY)] * 4)
    assert results.count(None) == 1
    assert sum(isinstance(one, actions.SentMeanwhile) for one in results) == 3
    assert reed.playing_tests.count() == 1


def test_the_same_photo_twice_at_once_is_one(reed, student):
    draft = actions.draft_of(reed, student)
    key = uuid.uuid4()

    def attach():
        row = Submission.objects.get(pk=draft.pk)
        return actions.attach_photo(row, student, ContentFile(make.picture(), name="a.jpg"), key).pk

    assert len(set(at_once(attach, attach, attach))) == 1
    assert Photo.objects.count() == 1


def test_two_photos_at_once_where_one_has_room_are_not_nine(reed, student):
    draft = actions.draft_of(reed, student)
    for _ in range(7):
        draft.photos.add(make.ready_photo(reed))

    def attach():
        row = Submission.objects.get(pk=draft.pk)
        return actions.attach_photo(row, student, ContentFile(make.picture(), name="a.jpg"), uuid.uuid4())

    results = at_once(attach, attach)
    assert draft.photos.count() == 8
    assert sum(isinstance(one, NotPossible) for one in results) == 1
