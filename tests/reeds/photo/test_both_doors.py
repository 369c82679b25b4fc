"""One file, two doors: what is uploaded and prepared, and what the command reads, is the same picture."""

from __future__ import annotations

import io
import json
import uuid

import numpy as np
import pillow_heif
import pytest
from django.core.files.base import ContentFile
from django.core.management import call_command
from PIL import ExifTags, Image

from reeds.photo.actions.photo import add_photo
from reeds.photo.models.measuring import PhotoMeasuring
from reeds.photo.models.photo import Photo
from reeds.photo.tasks.prepare import prepare_photo
from reeds.photo.uploads import check_upload
from reeds.photo.vision import shell
from reeds.photo.vision.refusal import PhotoRefused
from studio.errors import NotPossible
from tests import factories as make
from tests.on_card import simulated
from tests.reeds.photo.test_uploads import linear_profile

pillow_heif.register_heif_opener()
WIDE = (640, 480)


def scene(size=WIDE, mode="RGB"):
    """A picture whose four corners differ, so that every turn and every mirror shows."""
    width, height = size
    image = Image.new("RGB", size, (120, 120, 120))
    image.paste((230, 30, 30), (0, 0, width // 2, height // 2))
    image.paste((30, 30, 230), (width // 2, height // 2, width, height))
    image.paste((30, 200, 30), (0, height // 2, width // 2, height))
    return image.convert(mode)


def exif_of(orientation=1, focal=None):
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = orientation
    if focal is not None:
        exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.FocalLengthIn35mmFilm] = focal
    return exif


def saved(image, format, **how):
    buffer = io.BytesIO()
    image.save(buffer, format, **how)
    return buffer.getvalue()


def heic_without_a_box(orientation):
    """As software writes it that adds Exif and turns nothing; the library writes the box only for bytes."""
    data = saved(scene(), "HEIF", quality=90, exif=exif_of(orientation))
    assert b"irot" not in data
    assert b"imir" not in data
    return data


def heic_with_boxes(orientation):
    data = saved(scene(), "HEIF", quality=90, exif=exif_of(orientation).tobytes())
    assert b"irot" in data
    return data


def grey_of_16_bits():
    across = np.linspace(0x1000, 0xE000, WIDE[0]).astype(np.uint16)
    return Image.fromarray(np.tile(across, (WIDE[1], 1)))


def mpo():
    return saved(scene(), "MPO", save_all=True, append_images=[scene(mode="L").convert("RGB")], quality=95)


TALL = (480, 640)
# file, size once upright, colour 20 px from the upper left corner
FILES = {
    "jpeg": (lambda: saved(scene(), "JPEG", quality=95), WIDE, (230, 30, 30)),
    "jpeg, exif 6": (lambda: saved(scene(), "JPEG", quality=95, exif=exif_of(6)), TALL, (30, 200, 30)),
    "mpo": (mpo, WIDE, (230, 30, 30)),
    "heic, exif 6, no box": (lambda: heic_without_a_box(6), TALL, (30, 200, 30)),
    "heic, exif 2, no box": (lambda: heic_without_a_box(2), WIDE, (120, 120, 120)),
    "heic, exif 6, turned by its box": (lambda: heic_with_boxes(6), TALL, (30, 200, 30)),
    "heic, exif 7, turned and mirrored by boxes": (lambda: heic_with_boxes(7), TALL, (30, 30, 230)),
    "avif": (lambda: saved(scene(), "AVIF", quality=90), WIDE, (230, 30, 30)),
    "avif, exif 6": (lambda: saved(scene(), "AVIF", quality=90, exif=exif_of(6)), TALL, (30, 200, 30)),
    "webp, exif 8": (
        lambda: saved(scene(), "WEBP", lossless=True, exif=exif_of(8)), TALL, (120, 120, 120)
    ),
    "png, 16 bits of grey": (lambda: saved(grey_of_16_bits(), "PNG"), WIDE, (0x16, 0x16, 0x16)),
    "png, see-through": (lambda: saved(Image.new("RGBA", WIDE, (0, 0, 0, 0)), "PNG"), WIDE, (255,) * 3),
    # half the light is 188 in sRGB (IEC 61966-2-1)
    "png, a profile of its own": (
        lambda: saved(Image.new("RGB", WIDE, (128,) * 3), "PNG", icc_profile=linear_profile()),
        WIDE,
        (188,) * 3,
    ),
    "jpeg, cmyk": (lambda: saved(scene(mode="CMYK"), "JPEG", quality=95), WIDE, (230, 30, 30)),
}  # fmt: skip
STATED = {0: None, 6: None, 7.9: None, 8: 8.0, 27: 27.0, 400: 400.0, 450: None}
NOT_TAKEN = {
    "tiff": lambda: saved(scene(), "TIFF"),
    "gif": lambda: saved(scene(mode="P"), "GIF"),
    "text": lambda: b"no picture at all",
    "cut short": lambda: saved(scene(), "JPEG", quality=95)[:-1500],
    "61 megapixels": lambda: saved(Image.new("1", (8000, 7626)), "PNG"),
}


@pytest.fixture
def by_upload(student):
    """Send the bytes as the page does and let the worker prepare them."""
    reed = make.ReedFactory(owner=student)

    def through(data):
        photo = Photo(studio=reed.studio, reed=reed, by=reed.owner)
        extension = check_upload(ContentFile(data, name="x"))
        photo.raw.save(f"raw{extension}", ContentFile(data), save=False)
        photo.save()
        prepare_photo.func(photo.pk)
        photo.refresh_from_db()
        if photo.is_refused:
            raise NotPossible(photo.refusal)
        with Image.open(photo.upright.path) as image:
            return np.asarray(image), photo.focal_35mm

    return through


@pytest.fixture
def by_command(tmp_path, monkeypatch):
    """Call the command and keep the picture that it goes on to measure."""
    seen = []

    def looked(picture, _settings):
        seen.append(picture)
        raise PhotoRefused("Seen.")

    monkeypatch.setattr(shell, "view_card", looked)

    def through(data):
        file, err = tmp_path / "photo", io.StringIO()
        file.write_bytes(data)
        with pytest.raises(SystemExit):
            call_command("measure_photo", str(file), stderr=err)
        if not seen:
            raise NotPossible(err.getvalue())
        return seen[-1].rgb, seen[-1].focal_35mm

    return through


@pytest.mark.parametrize("name", FILES)
def test_a_file_is_the_same_picture_through_both_doors(name, by_upload, by_command):
    make_file, size, corner = FILES[name]
    data = make_file()
    (uploaded, _), (read, _) = by_upload(data), by_command(data)
    assert uploaded.shape == read.shape == (size[1], size[0], 3)
    for rgb in (uploaded, read):
        assert np.abs(rgb[20, 20].astype(int) - corner).max() <= 12
    # the copy is a JPEG once more
    assert np.abs(uploaded.astype(int) - read).mean() < 2


@pytest.mark.parametrize("stated", STATED)
def test_a_focal_length_is_believed_or_not_through_both_doors(stated, by_upload, by_command):
    data = saved(scene(), "JPEG", exif=exif_of(focal=stated))
    assert by_upload(data)[1] == by_command(data)[1] == STATED[stated]


@pytest.mark.parametrize("name", NOT_TAKEN)
def test_what_one_door_refuses_the_other_refuses_too(name, by_upload, by_command):
    data = NOT_TAKEN[name]()
    for door in (by_upload, by_command):
        with pytest.raises(NotPossible):
            door(data)


def test_a_small_picture_is_kept_and_not_measured(student, tmp_path):
    data = saved(scene((180, 120)), "PNG")
    photo = add_photo(make.ReedFactory(owner=student), student, ContentFile(data, name="a.png"), uuid.uuid4())
    prepare_photo.func(photo.pk)
    photo.refresh_from_db()
    assert photo.is_ready
    (tmp_path / "a.png").write_bytes(data)
    err = io.StringIO()
    with pytest.raises(SystemExit):
        call_command("measure_photo", str(tmp_path / "a.png"), stderr=err)
    assert PhotoMeasuring.objects.get(photo=photo).refusal == err.getvalue().strip()
    assert "too small" in err.getvalue()


def test_a_turned_heic_of_the_card_gives_the_same_landmarks_through_both_doors(student, tmp_path):
    """Stored a quarter turn off, with Exif alone to say so."""
    image = Image.fromarray(simulated(7).rgb)
    data = saved(image.transpose(Image.Transpose.ROTATE_90), "HEIF", quality=95, exif=exif_of(6, 27))
    photo = Photo(studio=student.studio, reed=make.ReedFactory(owner=student, stage="finishing"), by=student)
    photo.raw.save("raw.heic", ContentFile(data), save=False)
    photo.save()
    prepare_photo.func(photo.pk)
    photo.refresh_from_db()
    assert (photo.width, photo.height) == image.size
    (tmp_path / "a.heic").write_bytes(data)
    out = io.StringIO()
    call_command("measure_photo", str(tmp_path / "a.heic"), stdout=out)
    told = json.loads(out.getvalue())["landmarks"]
    proposed = PhotoMeasuring.objects.get(photo=photo).found.proposed.points
    assert {name for name, place in told.items() if place} == set(proposed)
    for name, place in proposed.items():
        assert np.abs(np.array(place) - told[name]).max() < 1.0, name
