"""The opening on its photo: outline proposed, figures on a drop, kept as numbers, refusals."""

from __future__ import annotations

import functools
import io
import json

import numpy as np
import pytest
from django.core.files.base import ContentFile
from PIL import Image

from reeds.numbers.words import Method
from reeds.photo.models.measuring import LookState, PhotoMeasuring
from reeds.photo.models.photo import Photo, PhotoState
from reeds.photo.tasks.look import look_at_photo
from reeds.photo.vision.markers import MIRRORED
from reeds.photo.vision.outline import NAMES, controls
from reeds.reed.models.measurement import Measurement
from studio.models import Member
from tests import factories as make
from tests.simulator.opening import opening_photo

pytestmark = pytest.mark.usefixtures("worker_at_once")


@functools.cache
def simulated(seed=5):
    return opening_photo(np.random.default_rng(seed), bright=False)


@pytest.fixture
def truth():
    return simulated()


def photo_of(reed, rgb, view="opening") -> Photo:
    buffer = io.BytesIO()
    Image.fromarray(rgb).save(buffer, "JPEG", quality=92)
    height, width = rgb.shape[:2]
    row = Photo(
        studio=reed.studio,
        reed=reed,
        by=reed.owner,
        view=view,
        state=PhotoState.READY,
        width=width,
        height=height,
    )
    for copy in ("upright", "screen", "thumbnail"):
        getattr(row, copy).save(f"{copy}.jpg", ContentFile(buffer.getvalue()), save=False)
    row.save()
    return row


@pytest.fixture(scope="module")
def made(once):
    return once(looked_at)


def looked_at() -> Photo:
    """Make a photo of a teacher's student, at which the worker looked."""
    student = make.student(studio=make.teacher().studio)
    photo = photo_of(make.ReedFactory(owner=student, stage="playing"), simulated().rgb)
    look_at_photo.func(photo.pk)
    return photo


@pytest.fixture
def photo(made, anew) -> Photo:
    return anew(made)


@pytest.fixture
def student(photo) -> Member:
    return photo.reed.owner


@pytest.fixture
def teacher(photo) -> Member:
    return Member.objects.get(studio=photo.studio, role="teacher")


@pytest.fixture
def sent(photo, truth):
    points = controls(photo.measuring.found_outline)
    return {
        "points": json.dumps(points),
        "marked": "up",
        "camera": "back",
        "tip_width": f"{truth.width:.2f}",
    }


def to(member, photo, name="opening_figures"):
    return member.to(f"reeds:{name}", photo.pk)


def numbers(text):
    """Return the value and its u, written for eyes: with the minus of print."""
    value, u = text.replace("\N{MINUS SIGN}", "-").split(" ± ")
    return float(value), float(u.split()[0])


def test_worker_finds_the_outline(photo):
    assert photo.measuring.state == LookState.FOUND
    assert len(photo.measuring.outline["upper"]) == 65


def test_figures_agree_with_the_truth_within_their_doubt(student, photo, truth, sent, as_member):
    told = as_member(student).post(to(student, photo), sent).json()["figures"]
    for key, true in (
        ("opening_height", truth.height),
        ("opening_area", truth.area),
        ("unevenness", truth.unevenness),
    ):
        value, u = numbers(told[key])
        assert abs(value - true) < 3.5 * u + 0.01, key
    assert told["height_ratio"]


def test_without_the_tips_width_there_are_ratios_only(student, photo, sent, as_member):
    client = as_member(student)
    told = client.post(to(student, photo), sent | {"tip_width": ""}).json()["figures"]
    assert told["opening_height"] is None
    assert told["opening_area"] is None
    assert told["unevenness"]
    client.post(to(student, photo, "opening_keep"), sent | {"tip_width": ""})
    assert {row.quantity for row in Measurement.objects.all()} == {"unevenness"}


def test_width_on_record_is_filled_in_and_carries_its_own_doubt(student, photo, sent, as_member):
    make_width(photo, 6.8, 0.2)
    client = as_member(student)
    assert 'value="6.8"' in client.get(to(student, photo, "opening")).content.decode()
    recorded = client.post(to(student, photo), sent | {"tip_width": "6.8"}).json()["figures"]["opening_width"]
    typed = client.post(to(student, photo), sent | {"tip_width": "7.2"}).json()["figures"]["opening_width"]
    assert numbers(recorded)[1] == 0.2
    assert numbers(typed)[1] == 0.05


def make_width(photo, value, u):
    Measurement.objects.create(
        studio=photo.studio,
        reed=photo.reed,
        quantity="tip_width",
        value=value,
        u=u,
        stage="shaped",
        method=Method.RULER,
    )


def test_marked_blade_down_turns_left_and_right(student, photo, sent, as_member):
    client = as_member(student)
    up, down = (
        client.post(to(student, photo), sent | {"marked": side}).json()["figures"] for side in ("up", "down")
    )
    assert numbers(up["unevenness"])[0] == pytest.approx(-numbers(down["unevenness"])[0], abs=0.011)
    # the outline is walked along from the other end: one step of what is shown, well within the doubt
    assert numbers(up["opening_height"])[0] == pytest.approx(numbers(down["opening_height"])[0], abs=0.011)


def test_without_the_mark_left_and_right_are_not_told(student, photo, sent, as_member):
    client, form = as_member(student), sent | {"marked": "unknown"}
    assert client.post(to(student, photo), form).json()["figures"]["unevenness"] is None
    client.post(to(student, photo, "opening_keep"), form)
    assert "unevenness" not in {row.quantity for row in Measurement.objects.all()}


def test_figures_are_kept_as_numbers_from_the_photo_and_checked(student, photo, sent, as_member):
    client, address = as_member(student), to(student, photo, "opening_keep")
    form = sent | {"key": "2b1fa1f6-6a0e-4d0e-9d0a-0c6a33a5b1aa"}
    for _time in range(2):
        answer = client.post(address, form, HTTP_HX_REQUEST="true")
    assert answer.status_code == 200
    rows = {row.quantity: row for row in Measurement.objects.all()}
    assert set(rows) == {"opening_height", "opening_width", "opening_area", "unevenness"}
    assert Measurement.objects.count() == 4
    assert rows["opening_height"].computed_from == "tip_width"
    assert {row.method for row in rows.values()} == {"photo"}
    assert {row.photo for row in rows.values()} == {photo}
    assert 'class="finding' in answer.content.decode()
    assert set(PhotoMeasuring.objects.get().reference["opening"]) == set(NAMES)


def test_teacher_may_and_the_number_says_who(teacher, photo, sent, as_member):
    as_member(teacher).post(to(teacher, photo, "opening_keep"), sent)
    assert Measurement.objects.first().by == teacher


POINTS = {name: [100 + i, 100] for i, name in enumerate(NAMES)}
BAD = {
    "no answer about the mark": ({"marked": ""}, "marked blade"),
    "another answer": ({"marked": "sideways"}, "choice"),
    "no answer about the camera": ({"camera": ""}, "camera"),
    "the selfie camera": ({"camera": "selfie"}, MIRRORED),
    "a point missing": ({"points": json.dumps({"left": [1, 2]})}, "missing"),
    "not finite": (
        {"points": json.dumps(POINTS | {"left": [1, 2]}).replace("[1, 2]", "[NaN, 2]")},
        "two numbers",
    ),
    "outside the picture": ({"points": json.dumps(POINTS | {"left": [-1, 2]})}, "within"),
    "all points on one line": ({"points": json.dumps(POINTS)}, "does not close"),
    "not json": ({"points": "x"}, "two numbers"),
    "a width of an elephant": ({"tip_width": "70"}, "cannot be right"),
    "no width": ({"tip_width": "nan"}, "not a number"),
}


@pytest.mark.parametrize(("change", "sentence"), BAD.values(), ids=BAD.keys())
@pytest.mark.parametrize("name", ["opening_figures", "opening_keep"])
def test_bad_input_is_refused_in_a_sentence(student, photo, sent, as_member, name, change, sentence):
    answer = as_member(student).post(to(student, photo, name), sent | change, HTTP_HX_REQUEST="true")
    assert answer.status_code == 422
    said = answer.json()["refusal"] if name == "opening_figures" else answer.content.decode()
    assert sentence in said
    assert not Measurement.objects.exists()


def test_picture_without_an_opening_begins_with_a_lens_to_drag(student, as_member):
    photo = photo_of(make.ReedFactory(owner=student), np.full((300, 400, 3), 120, np.uint8))
    look_at_photo.func(photo.pk)
    page = as_member(student).get(to(student, photo, "opening")).content.decode()
    assert "No opening can be seen" in page
    assert "set the outline by hand" in page
    assert photo.measuring.state == LookState.NOT_FOUND


def test_photo_not_said_to_show_the_opening_can_be_said_to(student, truth, as_member):
    photo = photo_of(make.ReedFactory(owner=student), truth.rgb, view="")
    client = as_member(student)
    assert "Look for them" in client.get(to(student, photo, "opening")).content.decode()
    client.post(to(student, photo, "look"))
    assert "look for the opening" in client.get(to(student, photo, "opening")).content.decode()
    client.post(to(student, photo, "opening_this"))
    photo.refresh_from_db()
    assert photo.view == "opening"
    assert photo.measuring.looked_for == "opening"
    assert "data-measure" in client.get(to(student, photo, "opening")).content.decode()
    assert client.get(to(student, photo, "measure")).status_code == 302


@pytest.mark.parametrize("name", ["opening", "opening_this", "opening_figures", "opening_keep"])
def test_fellow_student_and_stranger_find_nothing(
    student, other_student, stranger, photo, sent, as_member, name
):
    for member in (other_student, stranger):
        for home in (student, member):
            client = as_member(member)
            address = to(home, photo, name)
            answer = client.get(address) if name == "opening" else client.post(address, sent)
            assert answer.status_code == 404
    assert not Measurement.objects.exists()


def test_wrong_methods_are_refused(student, photo, as_member):
    client = as_member(student)
    assert client.post(to(student, photo, "opening")).status_code == 405
    for name in ("opening_this", "opening_figures", "opening_keep"):
        assert client.get(to(student, photo, name)).status_code == 405


def test_pages_ask_the_database_little(student, photo, sent, as_member, django_assert_max_num_queries):
    client = as_member(student)
    with django_assert_max_num_queries(12):
        client.get(to(student, photo, "opening"))
    with django_assert_max_num_queries(12):
        client.post(to(student, photo), sent)
