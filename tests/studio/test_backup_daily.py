"""The worker backs up once a day; the teacher reads how long ago that was."""

import datetime as dt
import logging

import pytest
from django.utils import timezone

from studio.backup import daily
from studio.backup.daily import look_after_backups
from studio.backup.making import make_backup
from studio.backup.manifest import MOMENT, whole

pytestmark = pytest.mark.django_db(transaction=True)
HOUR = dt.timedelta(hours=1)


@pytest.fixture(autouse=True)
def root(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    settings.BACKUP_DIR = str(tmp_path / "backups")
    return tmp_path / "backups"


def made_before(root, age):
    made = make_backup(root, keep=7)
    return made.rename(root / (timezone.now() - age).strftime(MOMENT))


@pytest.mark.parametrize(("hours", "many"), [(1, 1), (23, 1), (25, 2), (-5, 2)])
def test_the_worker_makes_one_a_day(root, hours, many):
    made_before(root, hours * HOUR)
    look_after_backups()
    assert len(whole(root)) == many


def test_the_first_is_made_at_once_and_as_many_kept_as_the_settings_say(root, settings, caplog):
    settings.BACKUP_KEEP = 2
    for _ in range(3):
        look_after_backups()
        for made in whole(root)[:1]:
            made.rename(root / (timezone.now() - 25 * HOUR - len(whole(root)) * HOUR).strftime(MOMENT))
    look_after_backups()
    assert len(whole(root)) == 2
    assert not caplog.records


def test_nowhere_means_never_and_no_warning(root, settings, caplog):
    settings.BACKUP_DIR = ""
    look_after_backups()
    assert not root.exists()
    assert not caplog.records


@pytest.mark.parametrize("hours", [None, 49, 47])
def test_one_that_fails_is_told_and_after_two_days_warned_of(root, monkeypatch, caplog, hours):
    if hours:
        made_before(root, hours * HOUR)

    def full(*_args):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("studio.backup.daily.make_backup", full)
    look_after_backups()
    levels = [record.levelno for record in caplog.records]
    assert levels == [logging.ERROR] + [logging.WARNING] * (hours != 47)
    assert "No space left" in caplog.text
    assert ("the last one: never" in caplog.text) == (hours is None)


def test_the_worker_goes_on_looking_whatever_fails(root, monkeypatch, caplog):
    class Ended(BaseException):
        pass

    looks = []

    def broken(*_args):
        looks.append(1)
        if len(looks) == 2:
            raise Ended
        raise ValueError("nobody thought of this")

    monkeypatch.setattr(daily, "make_backup", broken)
    monkeypatch.setattr(daily.time, "sleep", lambda _seconds: None)
    with pytest.raises(Ended):
        daily.keep_looking()
    assert "nobody thought of this" in caplog.text


def page(teacher, as_member):
    return as_member(teacher).get(teacher.to("studio_settings")).content.decode()


def test_the_teacher_reads_how_old_the_last_is(root, teacher, as_member):
    made_before(root, 50 * HOUR)
    assert "was made 2\xa0days, 2\xa0hours ago" in page(teacher, as_member)


def test_the_teacher_reads_that_there_is_none(teacher, as_member):
    assert "has never been backed up" in page(teacher, as_member)


def test_one_made_by_hand_elsewhere_counts_until_it_is_gone(root, settings, teacher, as_member):
    settings.BACKUP_DIR = ""
    made = made_before(root, 3 * HOUR)
    assert "was made 3\xa0hours ago" in page(teacher, as_member)
    made.rename(root / "elsewhere")
    assert "not to be found" in page(teacher, as_member)
