"""A site whose files lie in a bucket is backed up with them, and brought back into an empty one."""

import hashlib
import signal
import uuid
from contextlib import contextmanager
from datetime import timedelta

import pytest
from django.conf import settings as now
from django.core.files.base import ContentFile
from django.core.management import CommandError, call_command
from django.db import connection

from reeds.photo.models.photo import Photo
from studio.backup import making, manifest
from studio.backup.in_bucket import ASIDE, MARK
from studio.backup.making import make_backup
from studio.backup.restoring import check_backup
from studio.bucket.storage import Bucket
from tests import factories as make
from tests.services.conftest import names_in
from tests.services.test_postgresql import address_of, own_database
from tests.studio.backing_up import everything_below, killed_at, manage

pytestmark = pytest.mark.django_db(transaction=True)
ONE_CLOCK = timedelta(0)
OURS = ("S3_BUCKET", "S3_ENDPOINT", "S3_KEY", "S3_SECRET", "S3_PREFIX")


@pytest.fixture(autouse=True)
def data(settings, tmp_path):
    settings.DATA_DIR = tmp_path / "data"
    settings.DATA_DIR.mkdir()
    (settings.DATA_DIR / "secret_key").write_text("of this site")
    return settings.DATA_DIR


@pytest.fixture
def root(tmp_path):
    return tmp_path / "backups"


@pytest.fixture
def photo(bucket, student):
    reed = make.ReedFactory(owner=student)
    make.ready_take(reed)
    return make.ready_photo(reed)


def surroundings(**given):
    """The variables of a site with the files of this test."""
    return {name: str(getattr(now, name)) for name in OURS} | given


def of_this_site(**given):
    name = own_database()
    address = address_of(name) if connection.vendor == "postgresql" else f"sqlite:///{name}"
    return surroundings(DATABASE_URL=address, BACKUP_KEEP="1", **given)


@contextmanager
def looking_at(prefix, settings):
    """Another folder of the bucket for a while."""
    was, settings.S3_PREFIX = settings.S3_PREFIX, prefix
    yield
    settings.S3_PREFIX = was


def hashes_in(bucket):
    """What the bucket keeps for the site, by name."""
    return {name: sha256_of(bucket, name) for name in names_in(bucket) if not name.startswith((".", ASIDE))}


def sha256_of(bucket, name):
    with bucket.open(name) as file:
        return hashlib.sha256(file.read()).hexdigest()


def hashes_of(folder):
    return {str(path): digest for path, digest in everything_below(folder / "files").items()}


def counting(monkeypatch):
    """The names that are fetched from now on."""
    fetched, fetch = [], Bucket.fetch

    def noted(bucket, name, place):
        fetch(bucket, name, place)  # what is not held is not noted
        fetched.append(name)

    monkeypatch.setattr(Bucket, "fetch", noted)
    return fetched


def test_a_backup_has_all_of_it_and_the_next_fetches_only_what_is_new(bucket, photo, root, monkeypatch):
    monkeypatch.setattr("studio.backup.in_bucket.APART", ONE_CLOCK)
    first = make_backup(root, keep=7)
    check_backup(first)
    assert hashes_of(first) == hashes_in(bucket) != {}
    assert not bucket.exists(MARK)

    new = make.ready_photo(photo.reed)
    fetched = counting(monkeypatch)
    second = make_backup(root, keep=7)
    check_backup(second)
    assert sorted(fetched) == sorted(str(file.name) for file in new.files)
    assert hashes_of(second) == hashes_in(bucket)


def test_what_an_earlier_backup_has_damaged_is_fetched_again(bucket, photo, root, monkeypatch):
    monkeypatch.setattr("studio.backup.in_bucket.APART", ONE_CLOCK)
    spoilt = make_backup(root, keep=7) / "files" / photo.upright.name
    spoilt.write_bytes(bytes(spoilt.stat().st_size))
    check_backup(make_backup(root, keep=7))


def test_what_is_deleted_or_written_anew_while_it_runs_is_in_it_as_it_was(bucket, photo, root, monkeypatch):
    gone, anew = photo.upright.name, photo.screen.name
    before, copy = hashes_in(bucket), making.copy_files

    def after_the_moment(*args):
        for name in (gone, anew):
            bucket.delete(name)
        for content in (b"second", b"third"):
            bucket.delete(anew)
            assert bucket.save(anew, ContentFile(content)) == anew
        copy(*args)

    monkeypatch.setattr(making, "copy_files", after_the_moment)
    made = make_backup(root, keep=7)
    check_backup(made)
    assert hashes_of(made) == before
    assert not bucket.exists(gone)
    assert not [name for name in names_in(bucket) if name.startswith(".")]


@pytest.mark.parametrize(
    "point",
    [("studio.backup.making", "take_file", 2, "after"), ("studio.backup.making", "name_it", 1, "before")],
    ids=lambda point: point[1],
)
def test_killed_while_it_is_made_the_last_good_one_stays(bucket, photo, root, data, point):
    good = make_backup(root, keep=1)
    before = everything_below(good)
    assert killed_at(point, ("backup", root), data, **of_this_site()) == -signal.SIGKILL
    assert manifest.chosen(root) == good
    assert everything_below(good) == before
    assert bucket.exists(MARK)

    bucket.delete(photo.thumbnail.name)  # the mark that was left holds it; the row goes as well
    Photo.objects.filter(pk=photo.pk).update(thumbnail="")
    check_backup(make_backup(root, keep=1))
    assert len(list(root.iterdir())) == 1
    assert not [name for name in names_in(bucket) if name.startswith(".")]


def test_while_the_bucket_is_away_there_is_a_sentence_and_the_good_one(photo, root, away):
    good = make_backup(root, keep=1)
    away()
    with pytest.raises(CommandError, match="bucket did not answer"):
        call_command("backup", root)
    assert list(root.iterdir()) == [good]


def test_another_machines_backup_is_not_disturbed(bucket, photo, root):
    bucket.put(MARK, b"another machine")
    bucket.for_backups.let_go_of_the_dead()
    with pytest.raises(CommandError, match="Another machine"):
        call_command("backup", root)
    assert bucket.exists(MARK)


@pytest.mark.sqlite("into an empty PostgreSQL test_postgresql.py has one come back")
def test_it_comes_back_into_an_empty_bucket_and_over_another_only_if_told(
    bucket, photo, root, tmp_path, settings
):
    backup, elsewhere = make_backup(root, keep=7), uuid.uuid4().hex
    new, there = tmp_path / "new", surroundings(S3_PREFIX=elsewhere)
    # killed after the first file: there is no site yet, and nothing is lost
    point = ("studio.bucket.storage:Bucket", "save", 1, "after")
    assert killed_at(point, ("restore", root), new, **there) == -signal.SIGKILL
    code, said = manage(new, "restore", root, **there)
    assert (code, "is not empty" in said) == (1, True), said
    code, said = manage(new, "restore", root, "--over", **there)
    assert code == 0, said
    with looking_at(elsewhere, settings):
        assert hashes_in(bucket) == hashes_of(backup) != {}
        aside = [name for name in names_in(bucket) if name.startswith(ASIDE)]
        assert len(aside) == 1
    assert (new / "secret_key").read_text() == "of this site"
    assert manage(new, "backup", tmp_path / "again", **there)[0] == 0
    again = manifest.chosen(tmp_path / "again")
    assert manifest.read(again).counts == manifest.read(backup).counts
    assert hashes_of(again) == hashes_of(backup)


@pytest.mark.sqlite("into an empty PostgreSQL test_postgresql.py has one come back")
def test_files_of_a_disk_come_into_a_bucket_that_way(student, service, settings, tmp_path, root):
    photo = make.ready_photo(make.ReedFactory(owner=student))
    backup, prefix = make_backup(root, keep=7), uuid.uuid4().hex
    assert f"files/{photo.upright.name}" in manifest.read(backup).files
    code, said = manage(tmp_path / "new", "restore", root, S3_PREFIX=prefix, **service.surroundings)
    assert code == 0, said
    kept = service.client().list_objects_v2(
        Bucket=service.surroundings["S3_BUCKET"], Prefix=f"{prefix}/photos/"
    )
    assert len(kept["Contents"]) == len(hashes_of(backup))
    assert not (tmp_path / "new" / "files").exists()
