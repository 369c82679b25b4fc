"""A photo's file leaves only through its page, and only to those who may see the reed."""

import pytest

from reeds.photo.models.photo import Photo, PhotoState
from tests import factories as make


@pytest.fixture
def photo(student):
    return make.ready_photo(make.ReedFactory(owner=student))


def address(photo, size="screen"):
    return photo.reed.owner.to("reeds:photo", photo.pk, size)


@pytest.mark.parametrize("size", ["upright", "large", "screen", "thumbnail"])
def test_its_student_and_the_teacher_see_it(size, photo, as_member, student, teacher):
    for who in (student, teacher):
        answer = as_member(who).get(address(photo, size))
        assert (answer.status_code, answer["Content-Type"]) == (200, "image/jpeg")
        assert "private" in answer["Cache-Control"]
        assert b"".join(answer.streaming_content)[:3] == b"\xff\xd8\xff"


def test_a_fellow_student_and_a_stranger_do_not(photo, as_member, other_student, stranger):
    for who in (other_student, stranger):
        assert as_member(who).get(address(photo)).status_code == 404
        assert as_member(who).get(who.to("reeds:photo", photo.pk, "screen")).status_code == 404


@pytest.mark.parametrize("size", ["raw", "format", "reed"])
def test_nothing_but_the_prepared_copies_is_served(size, photo, as_member, teacher):
    assert as_member(teacher).get(address(photo, size)).status_code == 404


def test_a_photo_that_waits_is_not_served(photo, as_member, teacher):
    Photo.objects.update(state=PhotoState.WAITING)
    assert as_member(teacher).get(address(photo)).status_code == 404


def test_it_is_only_got(photo, as_member, student):
    assert as_member(student).post(address(photo)).status_code == 405


def test_a_file_gone_from_disk_is_a_sentence_in_its_place(photo, as_member, student):
    photo.screen.storage.delete(photo.screen.name)
    answer = as_member(student).get(address(photo))
    assert (answer.status_code, answer["Content-Type"]) == (404, "image/svg+xml")
    assert "The file of this photo is gone." in answer.content.decode()
    assert answer["Cache-Control"] == "no-store"


def test_a_photo_taken_back_is_nobodys(photo, as_member, student, teacher):
    Photo.objects.update(taken_back_at=photo.sent_at)
    for who in (student, teacher):
        assert as_member(who).get(address(photo)).status_code == 404


def test_a_photo_of_a_reed_taken_out_is_nobodys(photo, as_member, teacher):
    type(photo.reed).objects.update(taken_out_at=photo.sent_at)
    assert as_member(teacher).get(address(photo)).status_code == 404
