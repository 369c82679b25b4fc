"""What may be wrong with a photo: asked of its student before it is sent, told its teacher quietly after."""

from __future__ import annotations

import uuid

import pytest
from django.core.files.base import ContentFile
from django.utils import timezone

from reeds.photo.actions.photo import add_photo, erase_photos
from reeds.photo.models.photo import Photo
from reeds.photo.tasks.prepare import prepare_photo
from tests import factories as make

ADVICE = "It has few pixels. Take it again"


@pytest.fixture
def reed(student):
    return make.ReedFactory(owner=student)


def test_the_worker_sees_it_and_the_page_asks_to_take_it_again(student, as_member, reed):
    upload = ContentFile(make.picture(400, 300), name="reed.jpg")
    photo = add_photo(reed, student, upload, uuid.uuid4())
    prepare_photo.func(photo.pk)
    photo.refresh_from_db()
    assert photo.is_ready
    assert photo.flaws == ["small"]
    make.SubmissionFactory(reed=reed).photos.add(photo)
    assert ADVICE in as_member(student).get(student.to("lessons:draft", reed.pk)).text
    erase_photos(Photo.objects.filter(pk=photo.pk), timezone.now())
    photo.refresh_from_db()
    assert photo.flaws == []


def test_a_teacher_reads_quietly_what_was_sent_all_the_same(student, teacher, as_member, reed):
    sent = make.sent_round(student, reed=reed, photos=2)
    first, second = sent.photos.all()
    Photo.objects.filter(pk=second.pk).update(flaws=["dark", "small"])
    page = as_member(teacher).get(teacher.to("lessons:review", sent.pk)).text
    assert "Photo 2 (too dark, few pixels) was sent all the same." in page
    assert "Photo 1 (" not in page
    for member, asks in ((student, True), (teacher, False)):
        shown = as_member(member).get(member.to("lessons:prepared", second.pk)).text
        assert ("It looks too dark." in shown) is asks
    assert "Take it again" not in as_member(student).get(student.to("lessons:prepared", first.pk)).text
