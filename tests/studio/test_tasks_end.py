"""A task that fails is tried again after a pause; after the third time whoever waits reads a sentence."""

import datetime as dt
import io
import os
from importlib import import_module
from pathlib import Path

import pytest
from django.conf import settings
from django.core.files.base import ContentFile
from django.core.management import CommandError, call_command
from django.utils import timezone
from django_tasks.base import Task
from django_tasks_db.models import DBTaskResult

from lessons.demonstration.models import Demonstration
from reeds.apart import NOT_DONE
from reeds.photo.models.measuring import LookState, PhotoMeasuring
from reeds.photo.models.photo import Photo, PhotoState
from reeds.take.models import Take, TakeState
from studio.models import Invitation, Mailing
from studio.worker import PAUSES, TRIES, failed, look_after_failed
from tests import factories as make

pytestmark = pytest.mark.django_db
NOW = dt.datetime(2026, 3, 1, 12, tzinfo=dt.UTC)


def fail(path, *args, tries=1):
    return DBTaskResult.objects.create(
        status="FAILED",
        started_at=NOW,
        finished_at=NOW,
        worker_ids=[f"a/{n}/x" for n in range(tries)],
        args_kwargs={"args": list(args), "kwargs": {}},
        task_path=path,
        traceback="Traceback\nAttributeError: 'AudioStream' object has no attribute 'rate'",
        backend_name="default",
        run_after=NOW,
    )


@pytest.mark.parametrize("tries", range(1, TRIES))
def test_it_is_tried_again_later_and_later(tries):
    task = fail("reeds.take.tasks.listen", 1, tries=tries)
    assert look_after_failed(NOW) == 0
    task.refresh_from_db()
    assert (task.status, task.run_after) == ("READY", NOW + PAUSES[tries - 1])
    assert list(failed()) == []


def modules_of_tasks():
    for file in sorted(settings.BASE_DIR.rglob("*.py")):
        parts = file.relative_to(settings.BASE_DIR).with_suffix("").parts
        if parts[0] in ("studio", "reeds", "lessons") and "\n@task(" in file.read_text():
            yield import_module(".".join(parts))


def test_every_task_says_what_is_to_be_done_when_it_is_given_up():
    found = list(modules_of_tasks())
    assert len(found) >= 9
    for module in found:
        names = {
            name
            for name, one in vars(module).items()
            if isinstance(one, Task) and one.func.__module__ == module.__name__
        }
        assert set(module.GIVEN_UP) == names, module.__name__


@pytest.fixture
def reed(student):
    return make.ReedFactory(owner=student)


def given_up(path, row):
    task = fail(path, row.pk, tries=TRIES)
    assert look_after_failed(NOW) == 1
    assert look_after_failed(NOW) == 0  # once
    task.refresh_from_db()
    assert task.traceback.startswith("given up after 3")
    row.refresh_from_db()
    return row


def waiting_file(row, field):
    getattr(row, field).save("a.bin", ContentFile(b"x"), save=False)
    row.save()
    return Path(getattr(row, field).path)


def test_a_photo_is_refused_and_its_upload_goes(reed, student):
    photo = Photo(studio=student.studio, reed=reed, by=student)
    path = waiting_file(photo, "raw")
    photo = given_up("reeds.photo.tasks.prepare.prepare_photo", photo)
    assert (photo.state, photo.refusal, photo.raw.name) == (PhotoState.REFUSED, NOT_DONE, "")
    assert not path.exists()


def test_a_photo_that_was_made_ready_meanwhile_stays_so(reed, student):
    photo = Photo.objects.create(studio=student.studio, reed=reed, by=student, state=PhotoState.READY)
    assert given_up("reeds.photo.tasks.prepare.prepare_photo", photo).state == PhotoState.READY


def test_a_look_ends_with_nothing_found(reed, student):
    photo = Photo.objects.create(studio=student.studio, reed=reed, by=student, state=PhotoState.READY)
    row = PhotoMeasuring.objects.begun(photo)
    given_up("reeds.photo.tasks.look.look_at_photo", photo)
    row.refresh_from_db()
    assert (row.state, row.refusal) == (LookState.NOT_FOUND, NOT_DONE)


def test_a_take_is_refused_and_its_upload_goes(reed, student):
    take = Take(studio=student.studio, reed=reed, by=student, item="tuning")
    path = waiting_file(take, "raw")
    take = given_up("reeds.take.tasks.listen", take)
    assert (take.state, take.refusal, take.raw.name) == (TakeState.REFUSED, NOT_DONE, "")
    assert not path.exists()


def test_a_demonstration_is_refused_in_both_its_parts(teacher):
    row = Demonstration(studio=teacher.studio, title="x", photo_state="waiting", sound_state="waiting")
    paths = [waiting_file(row, field) for field in ("photo_raw", "sound_raw")]
    row = given_up("lessons.demonstration.tasks.prepare_demonstration", row)
    assert (row.photo_state, row.sound_state) == ("refused", "refused")
    assert (row.photo_refusal, row.sound_refusal) == (NOT_DONE, NOT_DONE)
    assert not any(map(os.path.exists, paths))


def test_an_invitation_is_said_not_to_have_gone(teacher):
    row = Invitation.objects.create(
        studio=teacher.studio, name="x", invited_by=teacher, mailing=Mailing.WAITING
    )
    assert given_up("studio.tasks.mail_invitation", row).mailing == Mailing.FAILED


def test_a_task_that_cannot_even_be_given_up_stops_no_other(reed, student):
    fail("reeds.gone.listen", 1, tries=TRIES)
    take = Take.objects.create(studio=student.studio, reed=reed, by=student, item="tuning")
    fail("reeds.take.tasks.listen", take.pk, tries=TRIES)
    assert look_after_failed(NOW) == 2
    take.refresh_from_db()
    assert take.state == TakeState.REFUSED


def test_what_waits_and_what_failed_is_listed_and_run_again():
    def said(**options):
        out = io.StringIO()
        call_command("tasks", stdout=out, **options)
        return out.getvalue()

    assert said() == "Nothing waits and nothing failed.\n"
    task, other = fail("reeds.take.tasks.listen", 7, tries=3), fail("reeds.take.tasks.listen", 8)
    assert "default  FAILED       2 reeds.take.tasks.listen" in said()
    DBTaskResult.objects.filter(pk=task.pk).update(queue_name="sounds")
    assert "sounds   FAILED       1 reeds.take.tasks.listen" in said()
    assert f"{task.pk} reeds.take.tasks.listen [7] AttributeError" in said()
    assert said(again=str(task.pk)) == "1 to be run again.\n"
    task.refresh_from_db()
    assert (task.status, task.worker_ids) == ("READY", [])
    assert task.run_after <= timezone.now()
    assert said(again="all") == "1 to be run again.\n"
    other.refresh_from_db()
    assert other.status == "READY"
    for wrong in (str(task.pk), "seven"):
        with pytest.raises(CommandError, match="number"):
            said(again=wrong)
