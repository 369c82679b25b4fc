"""Two measured photos at one scale: who may lay what beside what, and what the page says of them."""

from __future__ import annotations

import io

import pytest
from django.utils import timezone
from PIL import Image

from reeds.photo.actions.photo import erase_photos
from reeds.photo.models.measuring import PhotoMeasuring
from reeds.photo.models.photo import Photo
from reeds.photo.tasks import look
from reeds.photo.tasks.look import flatten_photo
from reeds.reed.models.reed import Reed
from tests import factories as make

pytestmark = pytest.mark.usefixtures("worker_at_once")

HTMX = {"HX-Request": "true"}


@pytest.fixture
def reed(student) -> Reed:
    return make.ReedFactory(owner=student, number=5, stage="finishing")


@pytest.fixture
def photo(reed) -> Photo:
    return make.measured_photo(reed)


@pytest.fixture
def before(reed) -> Photo:
    older = make.ReedFactory(owner=reed.owner, number=4, version=reed.version, stage="playing")
    lengths = {"overall_length": [72.0, 0.1], "tip_length": [2.4, 0.1], "scrape_length": [11.0, 0.2]}
    return make.measured_photo(older, lengths=lengths)


@pytest.fixture
def model(teacher, reed) -> Photo:
    own = make.ReedFactory(owner=teacher, number=1, version=reed.version, is_model=True, stage="playing")
    return make.measured_photo(own)


def page_of(client, member, a="", b=""):
    return client.get(member.to("reeds:compare"), {"a": a, "b": b})


def test_student_lays_two_of_their_reeds_side_by_side(student, photo, before, as_member):
    page = page_of(as_member(student), student, photo.pk, before.pk)
    assert page.status_code == 200
    html = page.content.decode()
    for one in (photo, before):
        assert student.to("reeds:flat", one.pk) in html
    assert "<strong>1.0</strong>" in html  # 72.0 less 71.0
    assert "−0.1, within the doubt" in html
    assert "Scrape length" not in html  # one photo only has it


def test_choices_are_parted_by_how_they_stand_to_the_first(student, photo, before, model, as_member):
    make.measured_photo(make.ReedFactory(owner=student, number=2, version=photo.reed.version))
    html = page_of(as_member(student), student, photo.pk).content.decode()
    names = ["This reed", "The reed before", "Model reeds of the studio", "Other reeds"]
    places = [html.index(f'label="{name}"') for name in names]
    assert places == sorted(places)


def test_flat_cut_is_a_picture_of_one_size(student, photo, as_member):
    answer = as_member(student).get(student.to("reeds:flat", photo.pk))
    with Image.open(io.BytesIO(b"".join(answer.streaming_content))) as picture:
        assert picture.size == (1232, 308)


def test_cut_of_points_that_were_moved_since_is_made_anew_once(student, photo, as_member):
    PhotoMeasuring.objects.update(flat_of=None)
    old = PhotoMeasuring.objects.get().flat
    client = as_member(student)
    asking = page_of(client, student, photo.pk).content.decode()
    assert f'hx-post="{student.to("reeds:flatten", photo.pk)}"' in asking
    assert PhotoMeasuring.objects.get().flat_of is None  # the page only asked
    assert (
        "appears by itself"
        in client.post(student.to("reeds:flatten", photo.pk), headers=HTMX).content.decode()
    )
    html = page_of(client, student, photo.pk).content.decode()
    row = PhotoMeasuring.objects.get()
    assert row.flat_of == row.measured_at
    assert student.to("reeds:flat", photo.pk) in html
    assert not old.storage.exists(old.name)
    flatten_photo.func(photo.pk)
    assert PhotoMeasuring.objects.get().flat.name == row.flat.name


def test_a_photo_erased_while_it_is_laid_flat_leaves_no_file(student, photo, monkeypatch, settings):
    PhotoMeasuring.objects.update(flat_of=None)
    cut_out = look.apart

    def slow(*given):
        flat = cut_out(*given)
        erase_photos(Photo.objects.all(), timezone.now())
        return flat

    monkeypatch.setattr(look, "apart", slow)
    before = set(settings.MEDIA_ROOT.rglob("*-flat.jpg"))
    flatten_photo.func(photo.pk)
    assert set(settings.MEDIA_ROOT.rglob("*-flat.jpg")) <= before
    assert not PhotoMeasuring.objects.get().flat


def test_while_the_worker_is_busy_the_page_says_so_and_asks_again(student, photo, as_member, monkeypatch):
    PhotoMeasuring.objects.update(flat_of=None)
    monkeypatch.setattr(
        "reeds.photo.actions.look.flatten_photo", type("Idle", (), {"enqueue": lambda pk: None})
    )
    client = as_member(student)
    html = page_of(client, student, photo.pk).content.decode()
    assert "Lay it flat" in html
    assert "compare-sheet" not in html
    answer = client.post(student.to("reeds:flatten", photo.pk))
    assert answer["Location"] == f"{student.to('reeds:compare')}?a={photo.pk}"
    waiting = client.get(student.to("reeds:flattening", photo.pk))
    assert "appears by itself" in waiting.content.decode()
    assert "HX-Refresh" not in waiting
    monkeypatch.undo()
    client.post(student.to("reeds:flatten", photo.pk))
    assert client.get(student.to("reeds:flattening", photo.pk))["HX-Refresh"] == "true"


def test_teachers_model_reed_is_shown_to_every_student_of_the_studio_by_its_photo_alone(
    student, other_student, model, as_member
):
    for member in (student, other_student):
        client = as_member(member)
        assert page_of(client, member, model.pk).status_code == 200
        assert len(b"".join(client.get(member.to("reeds:flat", model.pk)).streaming_content)) > 1000
        # the rest of the teacher's reed stays shut
        assert client.get(member.to("reeds:reed", model.reed_id)).status_code == 404
        assert client.get(member.to("reeds:photo", model.pk, "screen")).status_code == 404
        assert client.get(member.to("reeds:measure", model.pk)).status_code == 404


@pytest.mark.parametrize("change", ["no model", "taken out", "taken back", "a student's"])
def test_rule_of_model_reeds_has_its_ends(student, other_student, model, change):
    if change == "no model":
        Reed.objects.update(is_model=False)
    elif change == "taken out":
        Reed.objects.update(taken_out_at=model.sent_at)
    elif change == "taken back":
        Photo.objects.update(taken_back_at=model.sent_at)
    else:
        Reed.objects.update(owner=other_student)
    assert not Photo.objects.to_compare(student).exists()


def test_model_reed_of_another_studio_is_shown_to_nobody_here(student, stranger, as_member):
    theirs = make.measured_photo(make.ReedFactory(owner=stranger, is_model=True))
    assert not Photo.objects.to_compare(student).exists()
    assert page_of(as_member(student), student, theirs.pk).status_code == 404


def test_fellow_student_and_stranger_find_nothing(student, other_student, stranger, photo, as_member):
    for member in (other_student, stranger):
        client = as_member(member)
        for home in (student, member):
            for name in ("flat", "flattening"):
                assert client.get(home.to(f"reeds:{name}", photo.pk)).status_code == 404
            assert client.post(home.to("reeds:flatten", photo.pk)).status_code == 404
            assert page_of(client, home, photo.pk).status_code == 404
            assert page_of(client, home, "", photo.pk).status_code == 404
    own = page_of(as_member(other_student), other_student).content.decode()
    assert "No photo is measured yet" in own


def test_photo_that_is_not_measured_or_no_number_is_not_there(student, reed, as_member):
    plain = make.ready_photo(reed)
    client = as_member(student)
    for asked in (plain.pk, "x", "1" * 30, "-1", "²"):
        assert page_of(client, student, asked).status_code == 404


def test_wrong_methods_are_refused(student, photo, as_member):
    client = as_member(student)
    assert client.post(student.to("reeds:compare")).status_code == 405
    assert client.get(student.to("reeds:flatten", photo.pk)).status_code == 405
    for name in ("flat", "flattening"):
        assert client.post(student.to(f"reeds:{name}", photo.pk)).status_code == 405


def test_page_asks_as_often_for_ten_photos_as_for_two(
    student, photo, before, as_member, django_assert_max_num_queries
):
    client = as_member(student)
    with django_assert_max_num_queries(12) as few:
        page_of(client, student, photo.pk, before.pk)
    for _more in range(8):
        make.measured_photo(make.ReedFactory(owner=student, version=photo.reed.version))
    with django_assert_max_num_queries(len(few)):
        page_of(client, student, photo.pk, before.pk)
