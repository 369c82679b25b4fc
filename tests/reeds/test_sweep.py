"""Files that no row holds go after a day; all that a row holds stays."""

import datetime as dt
from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.management import call_command
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from reeds.photo.models.measuring import PhotoMeasuring
from reeds.photo.models.photo import Photo
from reeds.sweep import sweep
from reeds.take.models import Take
from studio.management.commands.work import look_after_tasks
from tests import factories as make

# an upload that waits is not looked at here and now
pytestmark = pytest.mark.usefixtures("worker_later")
TOMORROW = dt.timedelta(days=1, minutes=1)


@pytest.fixture
def held(student):
    """The names of everything that rows hold, an upload that still waits among them."""
    reed = make.ReedFactory(owner=student)
    photo, take = make.measured_photo(reed), make.ready_take(reed)
    waits = Photo(studio=reed.studio, reed=reed, by=student)
    waits.raw.save("raw.jpg", ContentFile(b"an upload"), save=True)
    listens = Take(studio=reed.studio, reed=reed, by=student, item="crow")
    listens.raw.save("take.m4a", ContentFile(b"an upload"), save=True)
    # a flat cut lies beside its photo; the factory puts it elsewhere
    row = PhotoMeasuring.objects.get(photo=photo)
    row.flat.name = default_storage.save(f"photos/{reed.studio_id}/cut-flat.jpg", ContentFile(b"flat"))
    row.save()
    for one in (photo, take):  # moved to where the site keeps them
        for file in one.files:
            assert str(file.name).startswith(("photos/", "takes/"))
    return {
        *(str(file.name) for one in (photo, take, waits, listens) for file in one.files),
        row.flat.name,
    }


def there():
    top = Path(default_storage.path(""))
    return {str(path.relative_to(top)) for path in top.rglob("*") if path.is_file()}


def orphan(folder="photos/1"):
    return default_storage.save(f"{folder}/broken-off.jpg", ContentFile(b"no row was ever made"))


def test_a_file_without_a_row_goes_after_a_day_and_all_others_stay(held):
    lost = {orphan(f"photos/{Photo.objects.first().studio_id}"), orphan("takes/999")}
    now = timezone.now()
    assert sweep(now) == 0
    assert lost <= there()
    assert sweep(now + TOMORROW) == 2
    assert held <= there()
    assert not lost & there()
    assert sweep(now + TOMORROW) == 0


def test_nothing_was_ever_sent(db):
    assert sweep() == 0


def test_the_command_says_how_many(db, capsys, monkeypatch):
    orphan()
    monkeypatch.setattr("reeds.sweep.AGE", dt.timedelta(seconds=-60))
    call_command("sweep")
    assert "1 files" in capsys.readouterr().out
    assert there() == set()


def test_a_worker_sweeps_when_it_looks_after_things(db, monkeypatch):
    orphan()
    monkeypatch.setattr("reeds.sweep.AGE", dt.timedelta(seconds=-60))
    look_after_tasks()
    assert there()
    look_after_tasks(sweep=True)
    assert there() == set()


def test_what_waits_without_a_task_is_queued_anew_after_a_day(held):
    """A process that was killed between a row and its task left it waiting for ever."""
    now = timezone.now()
    sweep(now)
    assert not DBTaskResult.objects.exists()
    sweep(now + TOMORROW)
    queued = {
        (task.task_path.rpartition(".")[2], *task.args_kwargs["args"]) for task in DBTaskResult.objects.all()
    }
    photo, take = (model.objects.get(state="waiting") for model in (Photo, Take))
    assert queued == {("prepare_photo", photo.pk), ("listen", take.pk)}
