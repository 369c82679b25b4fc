"""A page that finds no look at its photo asks for one by an action; once that is done it opens itself."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from lessons.sending import actions as sending
from reeds.photo.actions.look import ask_to_look
from reeds.photo.models.measuring import LookState, PhotoMeasuring
from reeds.photo.models.photo import Photo
from reeds.photo.tasks.look import look_at_photo
from tests import factories as make
from tests.on_card import photo_row, simulated

pytestmark = pytest.mark.usefixtures("worker_at_once")


@pytest.fixture
def new(student) -> Photo:
    """A photo at which nobody looked."""
    return photo_row(make.ReedFactory(owner=student, stage="finishing"), simulated(7))


@pytest.fixture
def photo(new) -> Photo:
    look_at_photo.func(new.pk)
    return new


@pytest.fixture
def asked(monkeypatch) -> list[int]:
    """Which photos the worker is asked to look at, which does not come to it."""
    photos: list[int] = []
    monkeypatch.setattr("reeds.photo.actions.look.look_at_photo", SimpleNamespace(enqueue=photos.append))
    return photos


def address(member, photo, name):
    return member.to(f"reeds:{name}", photo.pk)


def test_page_of_a_photo_that_waits_asks_until_it_is_ready(student, photo, as_member):
    PhotoMeasuring.objects.update(state=LookState.WAITING)
    client = as_member(student)
    page = client.get(address(student, photo, "measure")).content.decode()
    assert "opens by itself" in page
    waiting = client.get(address(student, photo, "looking"))
    assert "HX-Refresh" not in waiting
    PhotoMeasuring.objects.update(state=LookState.FOUND)
    assert client.get(address(student, photo, "looking"))["HX-Refresh"] == "true"


def test_photo_of_before_is_looked_at_when_its_page_asks_for_it(student, new, as_member):
    client, page = as_member(student), address(student, new, "measure")
    asking = client.get(page).content.decode()
    assert f'hx-post="{address(student, new, "look")}"' in asking
    assert 'hx-trigger="load, submit"' in asking
    assert not PhotoMeasuring.objects.filter(photo=new).exists()
    answer = client.post(address(student, new, "look"), headers={"HX-Request": "true"})
    assert "opens by itself" in answer.content.decode()
    assert new.measuring.state == LookState.FOUND
    assert client.get(address(student, new, "looking"))["HX-Refresh"] == "true"
    assert "data-measure" in client.get(page).content.decode()


def test_without_script_the_look_is_asked_for_by_a_button(student, new, as_member):
    answer = as_member(student).post(address(student, new, "look"))
    assert answer["Location"] == address(student, new, "measure")
    assert new.measuring.state == LookState.FOUND


def test_look_that_was_asked_for_is_not_asked_for_again(photo, asked):
    ask_to_look(photo)
    PhotoMeasuring.objects.update(state=LookState.WAITING, looked_for="")
    ask_to_look(photo)
    assert asked == []


def test_naming_the_opening_has_the_photo_looked_at_as_such_once(student, photo, asked, as_member):
    draft = sending.draft_of(photo.reed, student)
    sending.name_view(draft, photo, "side")
    assert asked == []  # still the reed on its card
    sending.name_view(draft, photo, "opening")
    sending.name_view(draft, photo, "opening")
    assert asked == [photo.pk]
    assert "opens by itself" in as_member(student).get(address(student, photo, "opening")).content.decode()


def test_photo_being_prepared_is_looked_at_after_that_by_itself(new, asked):
    Photo.objects.update(state="waiting")
    new.refresh_from_db()
    ask_to_look(new)
    assert asked == []
    assert not PhotoMeasuring.objects.exists()
