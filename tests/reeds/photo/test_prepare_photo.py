"""The worker's part of a photo: upright copies without metadata; run twice or killed, the same as once."""

import datetime as dt
import io
import uuid
from pathlib import Path

import pillow_heif
import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import FileSystemStorage
from django.db.models import QuerySet
from django.utils import timezone
from PIL import ExifTags, Image

from reeds.photo import copies
from reeds.photo.actions.photo import add_photo, erase_photos, take_back_photo
from reeds.photo.models.photo import Photo, PhotoState
from reeds.photo.tasks import prepare as tasks
from reeds.photo.tasks.prepare import prepare_photo
from studio.errors import NotPossible
from tests import factories as make

pillow_heif.register_heif_opener()
SECRET = b"SN-4711-SECRET"


@pytest.fixture
def reed(student):
    return make.ReedFactory(owner=student)


@pytest.fixture
def waiting(reed):
    """Return a photo as it lies before the worker takes it."""

    def made(data):
        photo = Photo(studio=reed.studio, reed=reed, by=reed.owner)
        photo.raw.save("raw.jpg", ContentFile(data), save=False)
        photo.save()
        return photo

    return made


def files(settings):
    return sorted(path.name for path in Path(settings.MEDIA_ROOT).rglob("*") if path.is_file())


def size_of(copy):
    with Image.open(copy.path) as picture:
        return picture.size


def telling_exif():
    """Metadata as a phone writes it: the place, serial numbers, the maker's own, the time, the lens."""
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 6
    exif[ExifTags.Base.Make] = "maker " + SECRET.decode()
    details = exif.get_ifd(ExifTags.IFD.Exif)
    details[ExifTags.Base.DateTimeOriginal] = "2026:03:01 18:30:00"
    details[ExifTags.Base.OffsetTimeOriginal] = "+02:00"
    details[ExifTags.Base.FocalLengthIn35mmFilm] = 26
    details[ExifTags.Base.BodySerialNumber] = SECRET.decode()
    details[ExifTags.Base.LensSerialNumber] = SECRET.decode()
    details[ExifTags.Base.MakerNote] = b"maker note " + SECRET
    details[ExifTags.Base.UserComment] = b"ASCII\0\0\0" + SECRET
    place = exif.get_ifd(ExifTags.IFD.GPSInfo)
    place[ExifTags.GPS.GPSLatitudeRef] = "N"
    place[ExifTags.GPS.GPSLatitude] = (52.0, 31.0, 12.25)
    place[ExifTags.GPS.GPSAreaInformation] = SECRET
    return exif


def telling_photo(format="JPEG", size=(400, 300)):
    buffer = io.BytesIO()
    more = {"comment": b"comment " + SECRET} if format == "JPEG" else {}
    xmp = b"<x:xmpmeta xmlns:x='adobe:ns:meta/'>" + SECRET + b"</x:xmpmeta>"
    Image.new("RGB", size, "#a9804f").save(buffer, format, exif=telling_exif().tobytes(), xmp=xmp, **more)
    assert SECRET in buffer.getvalue()
    return buffer.getvalue()


@pytest.mark.parametrize("format", ["JPEG", "WEBP", "HEIF"])
def test_no_copy_tells_where_or_with_what_a_photo_was_taken(format, waiting, settings):
    photo = waiting(telling_photo(format))
    prepare_photo.call(photo.pk)
    photo.refresh_from_db()
    assert photo.is_ready
    for copy in (photo.upright, photo.screen, photo.thumbnail):
        data = Path(copy.path).read_bytes()
        assert SECRET not in data
        for sign in (b"Exif", b"GPS", b"http", b"ICC_PROFILE", b"xmp", b"Photoshop"):
            assert sign not in data
    assert files(settings) == sorted(
        Path(f.name).name for f in (photo.upright, photo.screen, photo.thumbnail)
    )


@pytest.mark.parametrize("format", ["JPEG", "HEIF"])
def test_what_is_worth_knowing_is_kept_as_columns(format, waiting):
    photo = waiting(telling_photo(format, (400, 300)))
    prepare_photo.call(photo.pk)
    photo.refresh_from_db()
    assert photo.taken_at == dt.datetime(2026, 3, 1, 16, 30, tzinfo=dt.UTC)
    assert (photo.focal_35mm, photo.orientation, photo.format) == (26.0, 6, format)
    assert (photo.original_width, photo.original_height) == (400, 300)
    assert (photo.width, photo.height) == (300, 400)


def test_a_time_without_a_zone_is_the_studios(waiting, reed):
    reed.studio.time_zone = "America/New_York"
    reed.studio.save()
    exif = telling_exif()
    del exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.OffsetTimeOriginal]
    buffer = io.BytesIO()
    Image.new("RGB", (40, 30)).save(buffer, "JPEG", exif=exif.tobytes())
    photo = waiting(buffer.getvalue())
    prepare_photo.call(photo.pk)
    photo.refresh_from_db()
    assert photo.taken_at == dt.datetime(2026, 3, 1, 23, 30, tzinfo=dt.UTC)


def test_the_copies_have_their_sizes(waiting):
    photo = waiting(make.picture(2400, 1800))
    prepare_photo.call(photo.pk)
    photo.refresh_from_db()
    sizes = [size_of(copy) for copy in (photo.upright, photo.screen, photo.thumbnail)]
    assert sizes == [(2400, 1800), (1600, 1200), (320, 240)]
    assert not photo.large


def test_a_photo_as_large_as_a_phones_has_a_copy_between_for_who_zooms_in(waiting, settings):
    photo = waiting(make.picture(3200, 2400))
    prepare_photo.call(photo.pk)
    photo.refresh_from_db()
    assert [size_of(copy) for copy in (photo.upright, photo.large)] == [(3200, 2400), (2800, 2100)]
    assert len(photo.files) == len(files(settings)) == 4


def test_a_small_photo_is_not_blown_up(waiting):
    photo = waiting(make.picture(200, 100))
    prepare_photo.call(photo.pk)
    photo.refresh_from_db()
    assert size_of(photo.screen) == (200, 100)


def test_run_twice_is_run_once(waiting, settings):
    photo = waiting(make.picture())
    prepare_photo.call(photo.pk)
    before = files(settings)
    prepare_photo.call(photo.pk)
    assert files(settings) == before
    assert len(before) == 3


@pytest.mark.parametrize("after", [0, 1, 2, 3])
def test_killed_in_the_middle_and_run_again_leaves_no_file_behind(after, waiting, settings, monkeypatch):
    photo = waiting(make.picture())
    write, written = copies._write, []

    def killed(*given):
        if len(written) == after:
            raise SystemExit
        written.append(write(*given))

    at = (copies, "_write", killed) if after < 3 else (tasks, "_settle", _die)
    monkeypatch.setattr(*at)
    with pytest.raises(SystemExit):
        prepare_photo.call(photo.pk)
    monkeypatch.undo()
    prepare_photo.call(photo.pk)
    photo.refresh_from_db()
    assert photo.is_ready
    assert len(files(settings)) == 3


def _die(*_given):
    raise SystemExit


def test_killed_before_the_raw_upload_is_deleted_and_run_again_deletes_it(waiting, settings, monkeypatch):
    photo = waiting(make.picture())
    monkeypatch.setattr(tasks, "drop_upload", _die)
    with pytest.raises(SystemExit):
        prepare_photo.call(photo.pk)
    monkeypatch.undo()
    assert len(files(settings)) == 4
    prepare_photo.call(photo.pk)
    photo.refresh_from_db()
    assert not photo.raw
    assert len(files(settings)) == 3


def test_a_raw_file_that_is_gone_is_told(waiting):
    photo = waiting(make.picture())
    Path(photo.raw.path).unlink()
    prepare_photo.call(photo.pk)
    photo.refresh_from_db()
    assert photo.state == PhotoState.REFUSED
    assert "gone" in photo.refusal


def test_a_damaged_photo_is_refused_and_its_upload_deleted(waiting, settings):
    photo = waiting(make.picture(800, 600)[:-1500])
    prepare_photo.call(photo.pk)
    photo.refresh_from_db()
    assert photo.state == PhotoState.REFUSED
    assert "damaged" in photo.refusal
    assert files(settings) == []


def test_a_photo_taken_back_while_it_waits_leaves_no_file(
    waiting, settings, django_capture_on_commit_callbacks
):
    photo = waiting(make.picture())
    with django_capture_on_commit_callbacks(execute=True):
        take_back_photo(photo)
    prepare_photo.call(photo.pk)
    assert files(settings) == []


def erase(photo):
    erase_photos(Photo.objects.filter(pk=photo.pk), timezone.now())


@pytest.mark.parametrize("gone", [take_back_photo, erase])
def test_a_photo_taken_back_while_it_is_prepared_leaves_no_file(gone, waiting, settings, monkeypatch):
    photo = waiting(make.picture())
    prepared = tasks._prepared

    def slow(row):
        columns = prepared(row)
        gone(Photo.objects.get(pk=photo.pk))
        return columns

    monkeypatch.setattr(tasks, "_prepared", slow)
    prepare_photo.call(photo.pk)
    assert files(settings) == []
    photo.refresh_from_db()
    assert not photo.is_ready


def test_a_ready_photo_taken_back_leaves_no_file(waiting, settings, django_capture_on_commit_callbacks):
    photo = waiting(make.picture())
    prepare_photo.call(photo.pk)
    photo.refresh_from_db()
    with django_capture_on_commit_callbacks(execute=True):
        take_back_photo(photo)
    assert files(settings) == []


@pytest.mark.django_db
def test_a_photo_that_does_not_exist_is_no_error(settings):
    prepare_photo.call(10**6)
    assert files(settings) == []


def test_the_same_key_keeps_one_photo_and_one_file(reed, settings, django_capture_on_commit_callbacks):
    key = uuid.uuid4()
    for _try in range(2):
        with django_capture_on_commit_callbacks(execute=True):
            add_photo(reed, reed.owner, ContentFile(make.picture(), name="a.jpg"), key)
    assert Photo.objects.count() == 1
    assert len(files(settings)) == 3


def test_two_at_once_with_the_same_key_keep_one_photo_and_one_file(reed, settings, monkeypatch):
    """The second comes after the first looked and before it wrote: the database decides."""
    key = uuid.uuid4()
    first = add_photo(reed, reed.owner, ContentFile(make.picture(), name="a.jpg"), key)
    monkeypatch.setattr(QuerySet, "first", lambda _self: None)
    again = add_photo(reed, reed.owner, ContentFile(make.picture(), name="a.jpg"), key)
    assert again == first
    assert len(files(settings)) == 1


def test_under_age_without_consent_no_photo_is_taken(student, reed):
    student.under_age = True
    student.save()
    with pytest.raises(NotPossible, match="consent"):
        add_photo(reed, student, ContentFile(make.picture(), name="a.jpg"), uuid.uuid4())


def test_what_a_killed_run_left_half_written_is_written_over(waiting, settings):
    photo = waiting(make.picture(800, 600))
    for name in tasks.copy_names(photo.raw.name).values():
        photo.raw.storage.save(name, ContentFile(b"half a file"))
    prepare_photo.call(photo.pk)
    photo.refresh_from_db()
    assert [size_of(copy)[0] for copy in (photo.upright, photo.screen, photo.thumbnail)] == [800, 800, 320]
    assert len(files(settings)) == 3


def test_two_runs_that_write_at_the_same_moment_leave_one_file_each(waiting, settings, monkeypatch):
    """The other run writes between this one's deleting and writing."""
    photo = waiting(make.picture())
    made = {copy: name for copy, name in tasks.copy_names(photo.raw.name).items() if copy != "large"}
    storage, names = photo.raw.storage, set(made.values())
    for name in names:
        storage.save(name, ContentFile(make.picture()))
    delete = FileSystemStorage.delete
    # as if each were written again right after it was deleted
    monkeypatch.setattr(FileSystemStorage, "delete", lambda self, name: name in names or delete(self, name))
    prepare_photo.call(photo.pk)
    assert len(files(settings)) == 3
