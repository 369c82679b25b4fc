"""A photo is decoded once for its copies and its proposal; broken off in between, both still come."""

import io

import cv2
import numpy as np
import pytest
from django.core.files.base import ContentFile
from django_tasks_db.models import DBTaskResult
from PIL import Image

from reeds.apart import BROKE
from reeds.photo.models.measuring import LookState, PhotoMeasuring
from reeds.photo.models.photo import Photo, PhotoState
from reeds.photo.tasks import look, original, prepare
from reeds.photo.tasks.look import look_at_photo
from reeds.photo.tasks.original import put_original
from reeds.photo.tasks.prepare import prepare_photo
from reeds.photo.vision import decode, jobs
from studio.confined import pool
from tests import factories as make
from tests.on_card import simulated

pytestmark = pytest.mark.usefixtures("worker_at_once")


@pytest.fixture
def reed(student):
    return make.ReedFactory(owner=student, stage="finishing")


def sent(reed, data, name="raw.jpg", **given):
    photo = Photo(studio=reed.studio, reed=reed, by=reed.owner, **given)
    photo.raw.save(name, ContentFile(data), save=False)
    photo.save()
    return photo


@pytest.fixture
def photo(reed):
    """A photo of a reed on the card as a phone sent it, before the worker takes it."""
    return sent(reed, simulated(7).jpeg())


@pytest.fixture
def decodings(monkeypatch):
    """How often a whole picture was decoded, by either of the two libraries that do it."""
    counted = []
    by_opencv, by_pillow = cv2.imdecode, decode._plain
    monkeypatch.setattr(cv2, "imdecode", lambda *given: counted.append("OpenCV") or by_opencv(*given))
    monkeypatch.setattr(decode, "_plain", lambda *given: counted.append("Pillow") or by_pillow(*given))
    return counted


def outcome(photo):
    """What became of the photo, and what was found in it."""
    photo.refresh_from_db()
    row = PhotoMeasuring.objects.filter(photo=photo).first()
    return photo.state, row and row.state


READY_AND_FOUND = (PhotoState.READY, LookState.FOUND)


def test_a_photo_is_decoded_once_for_copies_and_proposal(photo, decodings):
    prepare_photo.func(photo.pk)
    assert outcome(photo) == READY_AND_FOUND
    assert set(photo.measuring.found.proposed.points) >= {"tip", "staple_foot"}
    assert decodings == ["OpenCV"]
    look_at_photo.func(photo.pk)  # done before
    assert decodings == ["OpenCV"]
    PhotoMeasuring.objects.all().delete()
    look_at_photo.func(photo.pk)
    assert decodings == ["OpenCV"] * 2


def test_so_is_one_that_pillow_decodes(reed, decodings):
    out = io.BytesIO()
    Image.fromarray(simulated(7).rgb).save(out, "PNG", compress_level=1)
    photo = sent(reed, out.getvalue(), "raw.png")
    prepare_photo.func(photo.pk)
    assert outcome(photo) == READY_AND_FOUND
    assert decodings == ["Pillow"]


def test_so_is_one_without_a_card_of_which_it_is_said(reed, decodings):
    photo = sent(reed, make.picture(800, 600))
    prepare_photo.func(photo.pk)
    assert outcome(photo) == (PhotoState.READY, LookState.NOT_FOUND)
    assert photo.measuring.refusal
    assert decodings == ["OpenCV"]


def test_so_is_the_original_of_one_that_came_smaller(reed, decodings):
    truth = simulated(7)
    height, width = truth.rgb.shape[:2]
    out = io.BytesIO()
    Image.fromarray(truth.rgb).resize((width // 2, height // 2)).save(out, "JPEG", quality=60)
    photo = sent(reed, out.getvalue())
    prepare_photo.func(photo.pk)
    photo.refresh_from_db()
    photo.raw.save("raw.jpg", ContentFile(truth.jpeg()))
    put_original.func(photo.pk)
    assert outcome(photo) == READY_AND_FOUND
    assert (photo.width, photo.raw.name) == (width, "")
    assert decodings == ["OpenCV"] * 2


def proposed(photo):
    return {name: np.array(place) for name, place in photo.measuring.found.proposed.points.items()}


@pytest.mark.parametrize("seed", [7, 8])
def test_the_kept_copy_is_proposed_the_same_to_within_the_doubt(reed, seed):
    """The doubt of one landmark, 0.1 mm or more, is about a pixel of these pictures."""
    photo = sent(reed, simulated(seed).jpeg())
    prepare_photo.func(photo.pk)
    photo.refresh_from_db()
    at_once = proposed(photo)
    PhotoMeasuring.objects.all().delete()
    look_at_photo.func(photo.pk)
    later = proposed(Photo.objects.get(pk=photo.pk))
    assert at_once.keys() == later.keys() != set()
    assert max(np.hypot(*(at_once[name] - later[name])) for name in later) < 0.5


def test_what_it_was_said_to_show_meanwhile_is_looked_for(photo, monkeypatch):
    settle = prepare._settle

    def named(row, columns):
        settle(row, columns)
        Photo.objects.filter(pk=row.pk).update(view="opening")

    monkeypatch.setattr(prepare, "_settle", named)
    prepare_photo.func(photo.pk)
    photo.refresh_from_db()
    assert photo.measuring.looked_for == "opening"


def _die(*_given):
    raise SystemExit


@pytest.mark.parametrize("where", [(prepare, "drop_upload"), (prepare, "look_on"), (look, "_keep")])
def test_killed_between_copies_and_proposal_the_next_run_proposes(photo, monkeypatch, where):
    with monkeypatch.context() as killed:
        killed.setattr(*where, _die)
        with pytest.raises(SystemExit):
            prepare_photo.func(photo.pk)
    assert outcome(photo) in ((PhotoState.READY, None), (PhotoState.READY, LookState.WAITING))
    copy = photo.upright.name
    prepare_photo.func(photo.pk)
    assert outcome(photo) == READY_AND_FOUND
    assert (photo.upright.name, photo.raw.name) == (copy, "")


@pytest.mark.parametrize("where", [(original, "look_on"), (look, "_keep"), (original, "drop_upload")])
def test_killed_after_the_original_was_put_in_its_place_the_next_run_proposes(reed, monkeypatch, where):
    truth = simulated(7)
    small = io.BytesIO()
    Image.fromarray(truth.rgb[::2, ::2]).save(small, "JPEG")
    photo = sent(reed, small.getvalue())
    prepare_photo.func(photo.pk)
    photo.refresh_from_db()
    photo.raw.save("raw.jpg", ContentFile(truth.jpeg()))
    with monkeypatch.context() as killed:
        killed.setattr(*where, _die)
        with pytest.raises(SystemExit):
            put_original.func(photo.pk)
    put_original.func(photo.pk)
    assert outcome(photo) == READY_AND_FOUND
    assert (photo.width, photo.raw.name) == (truth.rgb.shape[1], "")


def test_what_breaks_off_the_proposal_leaves_the_copies_and_is_tried_on_the_kept_one(photo, monkeypatch):
    found, tries = jobs._found, []

    def breaks_once(*given):
        tries.append(1)
        if len(tries) == 1:
            raise RuntimeError("nobody foresaw this")
        return found(*given)

    monkeypatch.setattr(jobs, "_found", breaks_once)
    prepare_photo.func(photo.pk)
    assert outcome(photo) == READY_AND_FOUND
    assert len(tries) == 2


def test_where_nothing_is_ever_proposed_the_photo_can_be_seen_all_the_same(photo, monkeypatch):
    monkeypatch.setattr(jobs, "_found", lambda *_given: 1 / 0)
    prepare_photo.func(photo.pk)
    assert outcome(photo) == (PhotoState.READY, LookState.NOT_FOUND)
    assert photo.measuring.refusal == BROKE
    for copy in (photo.upright, photo.screen, photo.thumbnail):
        assert copy.storage.exists(copy.name)


def test_a_photo_can_be_seen_before_anything_was_looked_for_in_it(photo, monkeypatch):
    found, seen = jobs._found, []
    monkeypatch.setattr(jobs, "_found", lambda *given: seen.append(outcome(photo)) or found(*given))
    prepare_photo.func(photo.pk)
    assert seen == [(PhotoState.READY, None)]


@pytest.mark.django_db
def test_where_others_wait_to_be_seen_it_is_looked_at_after_them(photo, reed, worker_later):
    other = sent(reed, simulated(7).jpeg())
    prepare_photo.enqueue(other.pk)
    prepare_photo.func(photo.pk)
    assert outcome(photo) == (PhotoState.READY, None)
    assert sorted(row.task_path.rpartition(".")[2] for row in DBTaskResult.objects.ready()) == [
        "look_at_photo",
        "prepare_photo",
    ]


def test_real_children_do_both_in_one_job(photo, settings):
    settings.CONFINE = True
    pool.pool().fill()
    before = [helper.process.pid for helper in pool.pool()._free]
    prepare_photo.func(photo.pk)
    assert outcome(photo) == READY_AND_FOUND
    # the child went on and is free again
    assert [helper.process.pid for helper in pool.pool()._free] == before
