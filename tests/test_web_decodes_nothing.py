"""The web keeps what people send and opens none of it: that is done by jobs, shut in."""

import io
import struct
import uuid

import av
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django_tasks_db.models import DBTaskResult
from PIL import Image

from lessons.demonstration.models import Demonstration
from lessons.voice.models import Voice
from reeds.photo.models.photo import Photo
from reeds.take.models import Take
from tests import factories as make
from tests.lessons.demonstration.test_demonstrations import add as add_demonstration
from tests.lessons.voice.test_voice import put as put_voice

pytestmark = pytest.mark.django_db
HTMX = {"HTTP_HX_REQUEST": "true"}
# a header that promises what is not there
LIES = b"\xff\xd8\xff\xe1" + struct.pack(">H", 65535) + b"Exif\0\0" + bytes(range(256)) * 8


def a_picture_in(kind):
    out = io.BytesIO()
    Image.new("RGB", (64, 48)).save(out, kind)
    return out.getvalue()


PICTURES = [make.picture(), *map(a_picture_in, ("PNG", "WEBP", "AVIF")), make.picture(format="HEIF"), LIES]


@pytest.fixture(autouse=True)
def what_waits_is_queued_at_once(worker_later, monkeypatch):
    """A test's transaction is never committed."""
    monkeypatch.setattr(transaction, "on_commit", lambda act, **_more: act())


def upload(data, name):
    return SimpleUploadedFile(name, data, "application/octet-stream")


def test_photos_takes_spoken_notes_and_demonstrations_are_kept_unopened(
    as_member, teacher, student, watch_decoders
):
    sent, reed = make.sent_round(student), make.ReedFactory(owner=student)
    phone, desk, tone = as_member(student), as_member(teacher), make.tone()
    DBTaskResult.objects.all().delete()
    before = Photo.objects.count()
    decoded = watch_decoders()
    for data in PICTURES:
        photo = {"photo": upload(data, "a.jpg"), "photo-key": str(uuid.uuid4())}
        assert phone.post(student.to("lessons:photo", reed.pk), photo, **HTMX).status_code == 200
    for data in (tone, tone[:60], b"OggS" + bytes(99)):
        take = {"take": upload(data, "a.wav"), "take-key": str(uuid.uuid4()), "item": "tuning"}
        assert phone.post(student.to("lessons:take", reed.pk), take, **HTMX).status_code == 200
    assert put_voice(desk, teacher, sent).status_code == 302
    assert add_demonstration(desk, teacher).status_code == 302
    assert decoded == []
    assert Photo.objects.count() == before + len(PICTURES)
    assert (Take.objects.count(), Voice.objects.count(), Demonstration.objects.count()) == (3, 1, 1)
    assert DBTaskResult.objects.ready().count() == len(PICTURES) + 5


def test_that_test_sees_what_it_should(watch_decoders):
    decoded = watch_decoders()
    with pytest.raises(AssertionError):
        Image.open(io.BytesIO(make.picture()))
    with pytest.raises(AssertionError):
        av.open(io.BytesIO(make.tone()))
    assert decoded == ["PIL.Image.open", "av.open"]
