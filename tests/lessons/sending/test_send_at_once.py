"""Two requests at the same moment, each in its own connection: the database lets one come after the other."""

import threading
import uuid

import pytest
from django.core.files.base import ContentFile
from django.db import connections

from lessons.sending import actions
from lessons.sending.forms import DraftForms
from lessons.sending.models import Submission
from lessons.sending.typed import Round, Save
from reeds.checks.findings import in_order
from reeds.checks.mending import told
from reeds.numbers.words import Stage
from reeds.photo.models.photo import Photo
from reeds.reed.facts import answers_of
from reeds.reed.findings import findings_of
from studio.errors import NotPossible
from tests import factories as make

pytestmark = pytest.mark.django_db(transaction=True)
EMPTY = Round([], {}, 5, [])
# so long a save that came between is waited for: where nothing holds it off it is done within this
MOMENT = 1.0


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
        thread.join()
    return results


def test_a_draft_begun_twice_at_once_is_one(reed, student):
    drafts = at_once(*[lambda: actions.draft_of(reed, student).pk] * 4)
    assert len(set(drafts)) == 1
    assert Submission.objects.count() == 1


def test_two_sends_at_once_make_one_round(reed, student):
    draft = actions.draft_of(reed, student)
    results = at_once(
        *[lambda: actions.send(Submission.objects.get(pk=draft.pk), Save({}), lambda _draft: EMPTY)] * 4
    )
    assert results.count(None) == 1
    assert sum(isinstance(one, actions.SentMeanwhile) for one in results) == 3
    assert reed.playing_tests.count() == 1


def typed(**numbers):
    return Save({name: str(value) for name, value in numbers.items()})


def test_a_save_that_comes_while_a_round_is_sent_changes_nothing_of_it(reed, student):
    """It comes after the check and before the sending: the moment at which it could slip in."""
    draft = actions.draft_of(reed, student)
    outcomes = []

    def save_elsewhere():
        try:
            actions.save_draft(Submission.objects.get(pk=draft.pk), typed(tie_length=60))
            outcomes.append("kept")
        except NotPossible as refusal:
            outcomes.append(refusal)
        finally:
            connections.close_all()

    elsewhere = threading.Thread(target=save_elsewhere)

    def read(locked):
        checked = DraftForms.read(locked)
        elsewhere.start()
        elsewhere.join(MOMENT)
        return checked

    actions.send(draft, typed(tie_length=75), read)
    elsewhere.join(30)
    sent = Submission.objects.get(pk=draft.pk)
    assert sent.draft == {"tie_length": "75"}
    assert [row.value for row in sent.measurements.all()] == [75.0]
    assert [type(one) for one in outcomes] == [actions.SentMeanwhile]


def test_what_is_stored_is_what_the_checks_say_of_the_numbers_stored(reed, student):
    draft = actions.draft_of(reed, student)
    actions.save_draft(draft, typed(tie_length=72, staple_length=45))
    actions.send(draft, typed(**{"tie_length": "75", "plays-crow": 1, "effort": 4}), DraftForms.read)
    sent = Submission.objects.get(pk=draft.pk)
    assert {row.quantity: row.value for row in sent.measurements.all()} == {
        "tie_length": 75.0,
        "staple_length": 45.0,
    }
    again = in_order(told(findings_of(sent.reed, answers=answers_of(sent.reed)), Stage(sent.stage)))
    assert [one.as_json() for one in again] == sent.findings
    assert any(one.quantity == "tie_length" and one.value == 75.0 for one in sent.found)


def test_a_refusal_keeps_what_was_typed_and_no_number(reed, student):
    draft = actions.draft_of(reed, student)
    with pytest.raises(NotPossible, match="cannot be right"):
        actions.send(draft, typed(tie_length="7.25", staple_length="45"), DraftForms.read)
    kept = Submission.objects.get(pk=draft.pk)
    assert (kept.draft, kept.sent_at) == ({"tie_length": "7.25", "staple_length": "45"}, None)
    assert draft.draft == kept.draft
    assert not reed.measurements.exists()


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
