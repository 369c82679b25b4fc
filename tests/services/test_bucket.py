"""Files in a bucket: kept there alone, made ready by the worker, fetched by signed addresses; it is away."""

import datetime as dt
import io
import uuid
import zipfile
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import pytest
import time_machine
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from lessons.answering.models import Answer
from reeds.photo.models.photo import Photo, PhotoState
from reeds.reed.models.reed import Reed
from reeds.sweep import sweep
from studio.backup.moment import file_columns
from studio.errors import FilesUnreachable
from studio.health import look
from studio.queues import Hand
from studio.trouble import BROKEN
from studio.worker import PAUSES, look_after_failed
from tests import factories as make
from tests.conftest import tasks_by
from tests.services.conftest import fetched, names_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("bucket")]
HTMX = {"HTTP_HX_REQUEST": "true"}


def send(phone, reed: Reed, key=None):
    file = SimpleUploadedFile("reed.jpg", make.picture(2000, 1500), content_type="image/jpeg")
    sent = {"photo": file, "photo-key": str(key or uuid.uuid4())}
    return phone.post(reed.owner.to("lessons:photo", reed.pk), sent, **HTMX)


def leads_to(client, member, name, *args):
    answer = client.get(member.to(name, *args))
    assert answer.status_code == 302, name
    assert answer.headers["Cache-Control"].startswith("no-store")
    return answer.headers["Location"]


def test_what_is_sent_lies_in_the_bucket_alone_and_the_worker_makes_it_ready(
    phone, reed, bucket, settings, at_once
):
    assert send(phone, reed).status_code == 200
    photo = Photo.objects.get()
    assert photo.state == PhotoState.READY
    assert names_in(bucket) == sorted(str(file.name) for file in photo.files)  # the upload has gone
    assert not list(Path(settings.MEDIA_ROOT).rglob("*"))


def test_every_kind_of_file_goes_there(teacher, student, reed, bucket, settings):
    given = {"studio": teacher.studio, "submission": make.sent_round(student), "author": teacher}
    make.ready_voice(Answer.objects.create(**given, words="well made"))
    make.ready_take(reed)
    make.ready_export(student)
    make.ready_demonstration(teacher)
    make.uploaded_log(student)
    tops = {name.partition("/")[0] for name in names_in(bucket)}
    assert tops >= {"exports", "takes", "demonstrations", "logs", "voices"}
    assert not list(Path(settings.MEDIA_ROOT).rglob("*"))
    assert len(list(file_columns())) >= 15


def test_a_photo_is_fetched_by_an_address_that_holds_for_minutes_and_for_it_alone(
    as_member, teacher, stranger, reed, bucket
):
    photo, other = make.ready_photo(reed), make.ready_photo(reed)
    address = leads_to(as_member(teacher), teacher, "reeds:photo", photo.pk, "upright")
    status, data, headers = fetched(address)
    assert (status, headers["Content-Type"]) == (200, "image/jpeg")
    with bucket.open(photo.upright.name) as kept:
        assert data == kept.read()
    assert int(parse_qs(urlsplit(address).query)["X-Amz-Expires"][0]) <= 300
    # tampered with: another file, another signature, another time, another type, none at all
    signature = parse_qs(urlsplit(address).query)["X-Amz-Signature"][0]
    turned = ("0" if signature[0] != "0" else "1") + signature[1:]
    for wrong in (
        address.replace(photo.upright.name, other.upright.name),
        address.replace(signature, turned),
        address.replace("X-Amz-Expires=300", "X-Amz-Expires=90000"),
        address.replace("image%2Fjpeg", "text%2Fhtml"),
        address.partition("?")[0],
    ):
        assert wrong != address
        assert fetched(wrong)[0] == 403, wrong
    # who may not see it is led nowhere
    answer = as_member(stranger).get(photo.reed.owner.to("reeds:photo", photo.pk, "upright"))
    assert (answer.status_code, answer.headers.get("Location")) == (404, None)


def test_after_some_minutes_the_address_is_refused_and_another_is_given(as_member, teacher, reed):
    photo, client = make.ready_photo(reed), as_member(teacher)
    with time_machine.travel(timezone.now() - dt.timedelta(minutes=6)):
        old = leads_to(client, teacher, "reeds:photo", photo.pk, "upright")
    assert fetched(old)[0] == 403
    assert fetched(leads_to(client, teacher, "reeds:photo", photo.pk, "upright"))[0] == 200


def test_what_a_phone_keeps_is_sent_by_us(phone, student, reed):
    """Its worker asks for whom an answer was made, which only we say."""
    photo = make.ready_photo(reed)
    for size in ("screen", "thumbnail"):
        answer = phone.get(student.to("reeds:photo", photo.pk, size))
        assert (answer.status_code, answer.headers["Content-Type"]) == (200, "image/jpeg")
        assert answer.content.startswith(b"\xff\xd8")
        assert answer.headers["Made-For"]
        mark = answer.headers["ETag"]
        assert (
            phone.get(student.to("reeds:photo", photo.pk, size), HTTP_IF_NONE_MATCH=mark).status_code == 304
        )


def test_a_recording_is_fetched_in_parts_and_an_export_under_its_name(phone, student, reed):
    take = make.ready_take(reed)
    status, data, headers = fetched(leads_to(phone, student, "reeds:take_sound", take.pk), Range="bytes=4-11")
    assert (status, len(data), headers["Content-Type"]) == (206, 8, take.content_type)
    row = make.ready_export(student)
    status, data, headers = fetched(leads_to(phone, student, "lessons:export_file", row.pk))
    assert "attachment" in headers["Content-Disposition"]
    assert ".zip" in headers["Content-Disposition"]
    assert zipfile.is_zipfile(io.BytesIO(data))


def test_a_file_that_is_gone_is_said_to_be(phone, student, reed, bucket):
    photo, take = make.ready_photo(reed), make.ready_take(reed)
    for file in (photo.upright, take.file):
        bucket.delete(file.name)
    assert b"<svg" in phone.get(student.to("reeds:photo", photo.pk, "upright")).content
    assert phone.get(student.to("reeds:take_sound", take.pk)).status_code == 404


def test_a_pages_policy_lets_it_show_what_lies_there(phone, student, settings):
    policy = phone.get(student.to("home")).headers["Content-Security-Policy"]
    said = dict(part.strip().split(" ", 1) for part in policy.split(";"))
    for directive in ("img-src", "media-src", "connect-src"):
        assert settings.S3_ENDPOINT in said[directive]
        assert "'self'" in said[directive]
    assert settings.S3_ENDPOINT not in said["default-src"]


def test_files_without_a_row_go_from_there_too(reed, bucket):
    photo = make.ready_photo(reed)
    held = names_in(bucket)
    bucket.save(f"photos/{reed.studio_id}/broken-off.jpg", ContentFile(b"no row was ever made"))
    assert sweep() == 0
    assert sweep(timezone.now() + dt.timedelta(days=2)) == 1
    assert names_in(bucket) == held == sorted(str(file.name) for file in photo.files)


# --- the bucket is away ---------------------------------------------------------------------------


def test_while_it_is_away_a_sentence_is_told_and_what_is_sent_again_later_comes_once(
    phone, student, reed, away, at_once
):
    photo, key = make.ready_photo(reed), uuid.uuid4()
    away()
    shown = phone.get(student.to("reeds:photo", photo.pk, "upright"))
    refused = send(phone, reed, key)
    for answer in (shown, refused):
        assert (answer.status_code, answer.headers["Retry-After"]) == (503, "30")
        assert BROKEN in answer.content.decode()
    assert look().reasons["files"] == "cannot be reached"
    assert Photo.objects.count() == 1
    away(False)
    assert look().reasons["files"] == ""
    assert send(phone, reed, key).status_code == 200
    assert send(phone, reed, key).status_code == 200
    assert Photo.objects.count() == 2


def test_a_task_that_met_it_away_is_tried_until_it_is_there(phone, reed, away, settings, at_once):
    settings.TASKS = tasks_by("django_tasks_db.DatabaseBackend")
    assert send(phone, reed).status_code == 200
    hand = Hand(["pictures"], None, 0)
    away()
    for _try in range(5):  # of another fault three are enough to give it up
        assert hand.work_one()
        task = DBTaskResult.objects.get(task_path__endswith="prepare_photo")
        assert task.exception_class_path == f"{FilesUnreachable.__module__}.FilesUnreachable"
        assert look_after_failed() == 0
        task.refresh_from_db()
        assert task.status == "READY"
        assert task.run_after - timezone.now() <= PAUSES[0]
        DBTaskResult.objects.update(run_after=timezone.now())
    assert Photo.objects.get().state == PhotoState.WAITING
    away(False)
    hand.run_all()
    assert Photo.objects.get().state == PhotoState.READY
