"""A backup of the running site holds every file its rows name, and nothing takes the last good one away."""

import signal
import threading
import time
import uuid
from collections import defaultdict, deque
from hashlib import sha256
from itertools import cycle
from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from django.db import connection

from reeds.photo.actions.photo import add_photo, take_back_photo
from reeds.photo.models.photo import Photo
from reeds.sweep import HELD
from studio.backup import held, making, manifest
from studio.backup.errors import BackupError
from studio.backup.making import make_backup
from studio.backup.moment import file_columns
from studio.backup.postgresql import Postgres
from studio.backup.restoring import check_backup
from studio.backup.storage import HoldingStorage
from tests import factories as make
from tests.studio.backing_up import everything_below, killed_at, named_by_rows, not_as_it_was
from tests.studio.serving import PATIENCE_S

pytestmark = pytest.mark.django_db(transaction=True)
OF_A_FILE = pytest.mark.sqlite("looks into its file; tests/services/test_backed_up.py has the other's")
MOST_THERE = 10


@pytest.fixture(autouse=True)
def data(settings, tmp_path):
    settings.DATA_DIR, settings.MEDIA_ROOT = tmp_path, tmp_path / "files"  # where a command looks for them
    (tmp_path / "secret_key").write_text("of this site")
    (tmp_path / "push_key").write_text("for its notices")
    return tmp_path


@pytest.fixture
def root(tmp_path):
    return tmp_path / "backups"


@pytest.fixture
def photo(student):
    return make.ready_photo(make.ReedFactory(owner=student))


@pytest.fixture
def written(monkeypatch):
    """Hashes of all that was ever written, by name."""
    found, save = defaultdict(set), HoldingStorage._save

    def noting(storage, name, content):
        digest = sha256(content.read()).hexdigest()
        content.seek(0)
        kept = save(storage, name, content)
        found[kept].add(digest)
        return kept

    monkeypatch.setattr(HoldingStorage, "_save", noting)
    return found


@pytest.fixture
def patient(monkeypatch):
    """A backup waits three seconds for a row that loses its file to change; a busy machine needs more."""
    monkeypatch.setattr(making, "TRIES", round(PATIENCE_S / making.PAUSE_S))


# --- while people send and take back ---------------------------------------------------------------


def sending(student, reed, stop, failed):
    """Send photos, have them prepared, and take the oldest of a few back, until told to stop."""
    try:
        pictures, there = cycle(make.picture(40 + n, 30) for n in range(5)), deque()
        while not stop.wait(0.03):
            upload = SimpleUploadedFile("a.jpg", next(pictures), "image/jpeg")
            there.append(add_photo(reed, student, upload, uuid.uuid4()))
            # so few that a backup never takes longer than the one before, and so old that its rows name them
            if len(there) > MOST_THERE:
                take_back_photo(there.popleft())
    except Exception as error:
        failed.append(error)
        raise
    finally:
        connection.close()


@pytest.fixture
def busy(student):
    """The site at work in two threads as long as the test runs."""
    stop, failed = threading.Event(), []
    reeds = [make.ReedFactory(owner=student) for _ in range(2)]
    threads = [threading.Thread(target=sending, args=(student, reed, stop, failed)) for reed in reeds]
    for thread in threads:
        thread.start()
    yield
    stop.set()
    for thread in threads:
        thread.join()
    assert failed == []


@OF_A_FILE
def test_every_file_that_a_row_names_is_there_while_photos_are_sent_prepared_and_deleted(
    written, busy, root, monkeypatch, patient
):
    take, from_held = making.take_file, []

    def slowly(name, place):
        time.sleep(0.005)
        from_held.append(held.held_file(name).exists())
        take(name, place)

    monkeypatch.setattr(making, "take_file", slowly)
    began, made = time.monotonic(), []
    while len(made) < 6 or sum(from_held) <= 5:
        assert time.monotonic() - began < PATIENCE_S, "nothing was deleted while a backup ran"
        made.append(make_backup(root, keep=1000))
    assert not set(named_by_rows(made[-1])) <= set(named_by_rows(made[0]))
    for folder in made:
        assert not_as_it_was(folder, written) == []
        assert manifest.read(folder).missing == []
    check_backup(made[-1])
    assert not held.held_dir().exists()


@OF_A_FILE
def test_a_file_that_goes_before_the_row_that_names_it_is_waited_for(photo, root, patient):
    default_storage.delete(photo.screen.name)

    def forget():
        time.sleep(0.5)
        Photo.objects.filter(pk=photo.pk).update(screen="")
        connection.close()

    thread = threading.Thread(target=forget)
    thread.start()
    made = make_backup(root, keep=7)
    thread.join()
    assert manifest.read(made).missing == []
    assert photo.screen.name not in named_by_rows(made)


def test_a_deletion_that_saw_no_mark_is_over_before_there_is_one(photo, root, monkeypatch):
    seen, copy = threading.Event(), making.copy_files

    def slow_to_delete(file, name):
        held.hold(file, name)
        seen.set()
        time.sleep(0.5)

    def slow_to_copy(*args):
        time.sleep(1)
        copy(*args)

    def drop():
        default_storage.delete(photo.screen.name)
        Photo.objects.filter(pk=photo.pk).update(screen="")
        connection.close()

    monkeypatch.setattr("studio.backup.storage.hold", slow_to_delete)
    monkeypatch.setattr(making, "copy_files", slow_to_copy)
    thread = threading.Thread(target=drop)
    thread.start()
    assert seen.wait(PATIENCE_S)
    made = make_backup(root, keep=7)
    thread.join()
    assert manifest.read(made).missing == []
    check_backup(made)


def test_a_file_lost_long_ago_is_named_and_the_rest_backed_up(photo, root, monkeypatch, capsys):
    monkeypatch.setattr(making, "PAUSE_S", 0)
    default_storage.delete(photo.screen.name)
    call_command("backup", root)
    said = manifest.read(manifest.chosen(root))
    assert said.missing == [photo.screen.name]
    assert f"files/{photo.upright.name}" in said.files
    assert f"{photo.screen.name} is named by a row" in capsys.readouterr().err


def test_of_a_name_used_anew_while_a_backup_runs_the_first_is_taken(root, photo, monkeypatch):
    name, old = photo.upright.name, Path(photo.upright.path).read_bytes()
    copy = making.copy_files

    def after_the_moment(*args):
        for content in (b"second", b"third"):
            default_storage.delete(name)
            assert default_storage.save(name, ContentFile(content)) == name
        copy(*args)

    monkeypatch.setattr(making, "copy_files", after_the_moment)
    assert (make_backup(root, keep=7) / "files" / name).read_bytes() == old


def test_where_no_links_can_be_made_files_are_copied_and_held_all_the_same(root, photo, monkeypatch):
    def refused(*_args):
        raise PermissionError("no links here")

    monkeypatch.setattr("os.link", refused)
    copy = making.copy_files

    def after_the_moment(*args):
        default_storage.delete(photo.upright.name)
        copy(*args)

    monkeypatch.setattr(making, "copy_files", after_the_moment)
    made = make_backup(root, keep=7)
    check_backup(made)
    assert (made / "files" / photo.upright.name).stat().st_nlink == 1
    assert not default_storage.exists(photo.upright.name)


def test_while_no_backup_runs_what_is_deleted_is_gone(photo, settings):
    default_storage.delete(photo.upright.name)
    assert not default_storage.exists(photo.upright.name)
    assert not list(Path(settings.MEDIA_ROOT).glob(".*"))


def test_every_column_that_names_a_file_is_looked_at_and_held():
    columns = set(file_columns())
    fields = [
        model._meta.get_field(field) for kept in HELD.values() for model, names in kept for field in names
    ]
    assert {(field.model._meta.db_table, field.column) for field in fields} <= columns
    assert len(columns) >= 15
    assert all(isinstance(field.storage._wrapped, HoldingStorage) for field in fields)


# --- killed anywhere -------------------------------------------------------------------------------


@OF_A_FILE
@pytest.mark.parametrize(
    ("point", "is_new"),
    [
        (("studio.backup.held", "set_mark", 1, "after"), False),
        (("studio.backup.sqlite:SqliteMoment", "write", 1, "before"), False),
        (("studio.backup.sqlite:SqliteMoment", "write", 1, "after"), False),
        (("studio.backup.making", "take_file", 2, "after"), False),
        (("studio.backup.making", "copy_secrets", 1, "after"), False),
        (("studio.backup.manifest:Manifest", "write", 1, "before"), False),
        (("studio.backup.making", "name_it", 1, "before"), False),
        (("studio.backup.making", "name_it", 1, "after"), True),
        (("studio.backup.making", "prune", 1, "after"), True),
    ],
    ids=lambda point: "-".join(map(str, point[1:])) if isinstance(point, tuple) else "",
)
def test_killed_at_any_point_the_last_good_one_stays(photo, root, data, point, is_new):
    good = make_backup(root, keep=1)
    before = everything_below(good)
    given = {"DATABASE_URL": f"sqlite:///{connection.settings_dict['NAME']}", "BACKUP_KEEP": "1"}
    assert killed_at(point, ("backup", root), data, **given) == -signal.SIGKILL
    last = manifest.chosen(root)
    assert (last != good) == is_new
    check_backup(last)
    assert {path: digest for path, digest in before.items() if path.parts[0] == "files"}.items() <= (
        everything_below(last).items()
    )
    if not is_new:
        assert everything_below(good) == before

    default_storage.delete(photo.thumbnail.name)  # a mark that was left holds it; the row goes as well
    Photo.objects.filter(pk=photo.pk).update(thumbnail="")
    check_backup(make_backup(root, keep=1))
    assert len(list(root.iterdir())) == 1
    assert not held.held_dir().exists()


def test_a_mark_that_a_dead_backup_left_goes_and_a_living_ones_stays(photo, settings):
    held.set_mark()
    default_storage.delete(photo.upright.name)
    with held.alone(Path(settings.DATA_DIR)):
        held.let_go_of_the_dead()
        assert held.held_file(photo.upright.name).exists()
    held.let_go_of_the_dead()
    assert not held.held_dir().exists()


def test_what_cannot_be_finished_leaves_nothing_and_the_good_one(photo, root, monkeypatch):
    good = make_backup(root, keep=1)

    def full(*_args):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(making, "copy_files", full)
    with pytest.raises(CommandError, match="No space left"):
        call_command("backup", root)
    assert list(root.iterdir()) == [good]
    assert not held.held_dir().exists()


def test_two_at_once_are_one_and_a_sentence(root, settings):
    with held.alone(Path(settings.DATA_DIR)), pytest.raises(CommandError, match="Another backup"):
        call_command("backup", root)


# --- what is kept ----------------------------------------------------------------------------------


def test_as_many_are_kept_as_wanted_and_the_newest_are(root):
    made = [make_backup(root, keep=3) for _ in range(5)]
    assert manifest.whole(root) == made[:1:-1]


def test_the_one_just_made_stays_even_where_the_clock_went_back(root):
    for year in (2050, 2051):
        make_backup(root, keep=9).rename(root / f"{year}-01-01T00-00-00.000000Z")
    made = make_backup(root, keep=1)
    assert manifest.whole(root) == [made]


@OF_A_FILE
def test_a_backup_is_as_private_as_the_data(photo, root):
    made = make_backup(root, keep=7)
    assert made.stat().st_mode & 0o077 == 0
    assert root.stat().st_mode & 0o077 == 0
    for secret in ("secret_key", "push_key", "studio.sqlite3"):
        assert (made / secret).stat().st_mode & 0o777 == 0o600
    assert (made / "secret_key").read_text() == "of this site"
    assert (made / "push_key").read_text() == "for its notices"


@OF_A_FILE
def test_a_damaged_database_takes_no_good_ones_place(photo, root, monkeypatch):
    good = make_backup(root, keep=1)

    def damaged(_file):
        raise BackupError("The database is damaged: page 7.")

    monkeypatch.setattr("studio.backup.sqlite.demand_soundness", damaged)
    with pytest.raises(CommandError, match="page 7"):
        call_command("backup", root)
    assert list(root.iterdir()) == [good]


def test_without_its_tools_postgresql_is_told_in_a_sentence(monkeypatch):
    monkeypatch.setattr("shutil.which", lambda _tool: None)
    with pytest.raises(BackupError, match="pg_dump is not found"), Postgres().moment(lambda: None):
        pass
