"""From the phone's file to lengths through the worker's own tasks: all eight ways a phone can be held."""

from __future__ import annotations

import io

import pytest
from django.core.files.base import ContentFile
from PIL import Image

from reeds.photo.models.measuring import LookState, PhotoMeasuring
from reeds.photo.models.photo import Photo
from reeds.photo.pages.lengths import bench_of, first_result
from reeds.photo.tasks.prepare import prepare_photo
from tests import factories as make
from tests.on_card import simulated

# how the pixels are stored for each value of Exif tag 274 (Exif 2.32, CIPA DC-008)
STORED = {
    1: None,
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_90,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_270,
}


def upload(orientation, focal):
    image = Image.fromarray(simulated(7).rgb)
    stored = image if STORED[orientation] is None else image.transpose(STORED[orientation])
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif.get_ifd(0x8769)[0xA405] = focal
    out = io.BytesIO()
    stored.save(out, "PNG", compress_level=1, exif=exif)
    return out.getvalue()


def lengths_of(reed, orientation, focal=27):
    photo = Photo(studio=reed.studio, reed=reed, by=reed.owner)
    photo.raw.save("raw.png", ContentFile(upload(orientation, focal)), save=False)
    photo.save()
    prepare_photo.func(photo.pk)  # it asks for the look, which the immediate backend does at once
    photo.refresh_from_db()
    row = PhotoMeasuring.objects.get(photo=photo)
    assert row.state == LookState.FOUND
    assert row.laid_plane.reach[1] == pytest.approx(simulated(7).lengths["overall_length"], rel=0.04)
    result = first_result(bench_of(photo, row, reed.owner))
    return {name: (round(m.value, 3), round(m.u, 3)) for name, m in result.lengths.items()}


@pytest.fixture
def reed(student):
    return make.ReedFactory(owner=student, stage="finishing")


def test_all_eight_orientations_give_the_same_lengths(reed):
    found = {orientation: lengths_of(reed, orientation) for orientation in STORED}
    assert "overall_length" in found[1]
    assert all(lengths == found[1] for lengths in found.values()), found


def test_lengths_proposed_by_the_worker_are_near_the_truth(reed):
    truth = simulated(7)
    value, u = lengths_of(reed, 1, round(truth.focal_35mm))["overall_length"]
    assert abs(value - truth.lengths["overall_length"]) < max(0.5, 3 * u)


def test_focal_length_no_camera_has_is_taken_as_unknown(reed):
    assert lengths_of(reed, 1, 450)["overall_length"][1] > 0.05
