"""Measuring a reed on its photo: proposals, figures on a drop, lengths kept as numbers, refusals."""

from __future__ import annotations

import json

import numpy as np
import pytest

from reeds.photo.actions import card as card_actions
from reeds.photo.actions.photo import take_back_photo
from reeds.photo.models.measuring import LookState, PhotoMeasuring
from reeds.photo.models.photo import Photo
from reeds.photo.tasks.look import look_at_photo
from reeds.photo.vision import markers
from reeds.photo.vision.lengths import LANDMARKS
from reeds.photo.vision.projection import distance_mm
from reeds.reed.models.measurement import Measurement
from studio.models import Member
from tests import factories as make
from tests.on_card import WIDE, beside, looked_at, photo_row, simulated, true_points

TRUTH = 7


@pytest.fixture
def truth():
    return simulated(TRUTH)


@pytest.fixture
def card(student):
    row = card_actions.new_card(student)
    card_actions.note_bar(row, student, 100.0, "caliper")
    return row


@pytest.fixture(scope="module")
def made(once):
    return once(looked_at)


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
def sent(truth, card):
    points = {name: p for name, p in true_points(truth).items() if name != "back_start"}
    return {"points": json.dumps(points), "scale": "card", "card": card.pk, "moisture": "wet"}


def address(member, photo, name="figures"):
    return member.to(f"reeds:{name}", photo.pk)


def test_worker_proposes_landmarks_near_the_truth(photo, truth):
    row = photo.measuring
    assert row.state == LookState.FOUND
    assert len(row.markers["ids"]) >= 4
    assert {"staple_foot", "tip"} <= set(row.proposed)
    scale = truth.rgb.shape[1] / 200  # px a millimetre at the least
    for name in ("staple_foot", "tip"):
        x, y = truth.marks[name]
        assert abs(row.proposed[name][0] - x) < 0.7 * scale
        assert abs(row.proposed[name][1] - y) < 0.7 * scale


def test_looking_twice_is_looking_once(photo):
    before = PhotoMeasuring.objects.values().get()
    PhotoMeasuring.objects.update(proposed={})
    look_at_photo.func(photo.pk)
    assert PhotoMeasuring.objects.values().get() == before | {"proposed": {}}


def test_photo_without_the_card_keeps_the_sentence_and_the_page_offers_other_scales(student, as_member):
    photo = make.ready_photo(make.ReedFactory(owner=student))
    look_at_photo.func(photo.pk)
    assert photo.measuring.refusal == markers.TOO_FEW
    page = as_member(student).get(address(student, photo, "measure")).content.decode()
    assert "so that the whole card shows" in page
    assert 'value="known" checked' in page


def test_page_shows_the_points_of_the_stage_only(student, photo, card, as_member):
    page = as_member(student).get(address(student, photo, "measure")).content.decode()
    assert 'data-point="tip_start"' in page
    assert 'data-point="back_start"' not in page  # short scrape
    assert f'<option value="{card.pk}" selected>' in page
    photo.reed.stage = "tied"
    photo.reed.save()
    page = as_member(student).get(address(student, photo, "measure")).content.decode()
    assert 'data-point="scrape_start"' not in page
    assert 'data-length="tie_length"' in page
    assert 'data-length="overall_length"' not in page
    assert '<option value="unknown" selected>' in page


def test_drop_answers_with_matrices_lengths_and_their_doubt(student, photo, truth, sent, as_member):
    answer = as_member(student).post(address(student, photo), sent)
    assert answer.status_code == 200
    told = answer.json()
    for key, name in (
        ("overall_length", "overall_length"),
        ("scrape_length", "scrape_length"),
        ("tip_length", "tip_length"),
        ("tip_width", "tip_width"),
        ("cane_beyond_thread", "cane_beyond_thread"),
    ):
        figure = told["lengths"][key]
        assert abs(figure["value"] - truth.lengths[name]) < 3.5 * figure["u"], key
        assert 0.03 < figure["u"] < 0.5
    assert set(told["matrices"]) == set(LANDMARKS)
    assert all(len(matrix) == 3 for matrix in told["matrices"].values())
    assert not Measurement.objects.exists()


def test_thread_past_the_staple_is_what_the_staple_leaves(student, photo, truth, sent, as_member):
    told = as_member(student).post(address(student, photo), sent).json()
    figure = told["lengths"]["thread_past_staple"]
    assert abs(figure["value"] - (truth.lengths["foot_to_thread_end"] - 47.0)) < 3.5 * figure["u"]
    photo.reed.staple_length = None
    photo.reed.save()
    told = as_member(student).post(address(student, photo), sent).json()
    assert "thread_past_staple" not in told["lengths"]
    page = as_member(student).get(address(student, photo, "measure")).content.decode()
    assert "staple&#x27;s length" in page or "staple's length" in page


def test_ticked_lengths_become_numbers_of_the_reed_and_are_checked(
    student, photo, sent, card, as_member, django_capture_on_commit_callbacks
):
    kept = sent | {"keep": ["overall_length", "thread_past_staple"]}
    to = address(student, photo, "keep_lengths")
    with django_capture_on_commit_callbacks(execute=True):
        answer = as_member(student).post(to, kept, HTTP_HX_REQUEST="true")
    assert answer.status_code == 200
    rows = {row.quantity: row for row in Measurement.objects.all()}
    assert set(rows) == {"overall_length", "thread_past_staple"}
    whole = rows["overall_length"]
    assert (whole.method, whole.photo, whole.by, whole.moisture) == ("photo", photo, student, "wet")
    assert whole.u > 0
    assert rows["thread_past_staple"].computed_from == "staple_length"
    assert 'class="finding' in answer.content.decode()
    row = PhotoMeasuring.objects.get()
    assert (row.card, row.measured_by, row.scale) == (card, student, "card")
    assert row.flat_of == row.measured_at
    assert row.flat.size > 1000


def test_same_form_twice_counts_once_and_a_new_one_adds(student, photo, sent, as_member):
    client, to = as_member(student), address(student, photo, "keep_lengths")
    kept = sent | {"keep": ["overall_length"], "key": "2b1fa1f6-6a0e-4d0e-9d0a-0c6a33a5b1aa"}
    for _time in range(2):
        assert client.post(to, kept, HTTP_HX_REQUEST="true").status_code == 200
    assert Measurement.objects.count() == 1
    client.post(to, kept | {"key": "2b1fa1f6-6a0e-4d0e-9d0a-0c6a33a5b1ab"})
    assert Measurement.objects.count() == 2


def test_teacher_measures_a_students_photo_and_the_number_says_who(teacher, photo, sent, as_member):
    answer = as_member(teacher).post(
        address(teacher, photo, "keep_lengths"), sent | {"keep": ["overall_length"]}
    )
    assert answer.status_code == 302
    assert Measurement.objects.get().by == teacher


def test_moved_point_has_the_doubt_of_a_hand_and_an_untouched_one_its_own(student, photo, sent, as_member):
    proposed = {name: p[:2] for name, p in photo.measuring.proposed.items()}
    ends = {name: proposed[name] for name in ("staple_foot", "tip")}
    client = as_member(student)
    alone = client.post(address(student, photo), sent | {"points": json.dumps(ends)}).json()
    moved = ends | {"tip": [ends["tip"][0] + 3, ends["tip"][1]]}
    by_hand = client.post(address(student, photo), sent | {"points": json.dumps(moved)}).json()
    assert alone["lengths"]["overall_length"]["u"] != by_hand["lengths"]["overall_length"]["u"]


def test_card_whose_bar_nobody_measured_carries_more_doubt_and_says_so(
    student, teacher, photo, sent, as_member
):
    unmeasured = card_actions.new_card(teacher)
    client = as_member(student)
    known = client.post(address(student, photo), sent).json()
    unknown = client.post(address(student, photo), sent | {"card": unmeasured.pk}).json()
    none = client.post(address(student, photo), sent | {"card": ""}).json()
    for told, sentence in ((unknown, "Nobody has measured"), (none, "which card")):
        assert told["lengths"]["overall_length"]["u"] > 1.5 * known["lengths"]["overall_length"]["u"]
        assert any(sentence in warning for warning in told["warnings"])


def test_printing_factor_scales_the_lengths(student, photo, sent, card, as_member):
    client = as_member(student)
    before = client.post(address(student, photo), sent).json()["lengths"]["overall_length"]["value"]
    card_actions.note_bar(card, student, 98.0, "caliper")
    after = client.post(address(student, photo), sent).json()["lengths"]["overall_length"]["value"]
    assert after / before == pytest.approx(0.98, abs=0.002)


@pytest.fixture
def wide():
    """A photo from far, with room beside the card."""
    return simulated(11, WIDE)


def test_ruler_gives_lengths_with_a_larger_doubt_and_a_warning(student, wide, sent, as_member):
    reed = make.ReedFactory(owner=student, stage="finishing")
    photo = photo_row(reed, wide)
    look_at_photo.func(photo.pk)
    (a, b), _corners = beside(wide, 80.0)
    points = true_points(wide) | {"ruler_start": a, "ruler_stop": b}
    points.pop("back_start", None)
    client = as_member(student)
    by_card = client.post(address(student, photo), sent | {"points": json.dumps(true_points(wide))}).json()
    form = sent | {"points": json.dumps(points), "scale": "known", "known_mm": "80"}
    told = client.post(address(student, photo), form).json()
    assert "lengths" in told, told
    figure = told["lengths"]["overall_length"]
    assert abs(figure["value"] - wide.lengths["overall_length"]) < 3 * figure["u"]
    assert figure["u"] > 2 * by_card["lengths"]["overall_length"]["u"]
    assert any("tilt" in warning for warning in told["warnings"])
    # what the page computes itself from the matrices agrees with what the server says
    of = {name: np.array(matrix) for name, matrix in told["matrices"].items()}
    live = distance_mm(of["staple_foot"], points["staple_foot"], points["tip"], of["tip"])
    assert live == pytest.approx(figure["value"], abs=0.3)


def test_bank_card_gives_lengths_too(student, wide, sent, as_member):
    photo = photo_row(make.ReedFactory(owner=student, stage="finishing"), wide)
    _ruler, corners = beside(wide, 80.0)
    points = true_points(wide) | {f"corner_{i}": p for i, p in enumerate(corners, 1)}
    points = {
        name: [min(max(x, 0), photo.width), min(max(y, 0), photo.height)] for name, (x, y) in points.items()
    }
    told = as_member(student).post(
        address(student, photo), sent | {"points": json.dumps(points), "scale": "id1"}
    )
    assert told.status_code == 200, told.json()
    figure = told.json()["lengths"]["overall_length"]
    assert abs(figure["value"] - wide.lengths["overall_length"]) < max(1.0, 3 * figure["u"])


BAD = {
    "not json": {"points": "tip"},
    "a list": {"points": "[1, 2]"},
    "not finite": {"points": '{"tip": [NaN, 3]}'},
    "infinite": {"points": '{"tip": [1e999, 3]}'},
    "outside the picture": {"points": '{"tip": [-2, 3]}'},
    "beyond the picture": {"points": '{"tip": [3, 99999]}'},
    "words": {"points": '{"tip": ["1", "2"]}'},
    "true": {"points": '{"tip": [true, 2]}'},
    "an unknown name": {"points": '{"nose": [1, 2]}'},
    "nested too deep": {"points": "[" * 3900},
    "no points": {"points": ""},
    "no such scale": {"scale": "thumb"},
    "a ruler of 0 mm": {"scale": "known", "known_mm": "0"},
    "a ruler without marks": {"scale": "known", "known_mm": "80"},
    "a ruler of nothing": {"scale": "known", "known_mm": ""},
    "a ruler that is no number": {"scale": "known", "known_mm": "nan"},
    "a bank card without corners": {"scale": "id1"},
    "one height": {"foot_height": "3"},
    "a height of a tower": {"foot_height": "300", "tip_height": "3"},
    "no card of theirs": {"card": "987654"},
}


@pytest.mark.parametrize("change", BAD.values(), ids=BAD.keys())
@pytest.mark.parametrize("name", ["figures", "keep_lengths"])
def test_bad_input_is_refused_in_a_sentence_and_nothing_is_kept(
    student, photo, sent, as_member, change, name
):
    form = sent | {"keep": ["overall_length"]} | change
    answer = as_member(student).post(address(student, photo, name), form, HTTP_HX_REQUEST="true")
    assert answer.status_code == 422
    said = answer.json()["refusal"] if name == "figures" else answer.content.decode()
    assert len(said) > 20
    assert not Measurement.objects.exists()


def test_ruler_marks_on_one_place_are_refused(student, photo, sent, truth, as_member):
    points = true_points(truth) | {"ruler_start": [50, 50], "ruler_stop": [51, 50]}
    form = sent | {"points": json.dumps(points), "scale": "known", "known_mm": "80"}
    answer = as_member(student).post(address(student, photo), form)
    assert answer.status_code == 422
    assert "apart" in answer.json()["refusal"]


def test_points_off_the_card_are_refused(student, photo, sent, as_member):
    form = sent | {"points": json.dumps({"staple_foot": [1, 1], "tip": [40, 40]})}
    answer = as_member(student).post(address(student, photo), form)
    assert answer.status_code == 422
    assert "off the card" in answer.json()["refusal"]


def test_no_landmarks_give_no_lengths_and_nothing_to_keep(student, photo, sent, as_member):
    client, form = as_member(student), sent | {"points": "{}", "keep": ["overall_length"]}
    assert client.post(address(student, photo), form).json()["lengths"] == {}
    answer = client.post(address(student, photo, "keep_lengths"), form, HTTP_HX_REQUEST="true")
    assert answer.status_code == 422
    assert "Tick at least one" in answer.content.decode()


def test_length_that_cannot_be_right_is_not_kept(student, photo, sent, truth, as_member):
    points = true_points(truth)
    foot, tip = points["staple_foot"], points["tip"]
    points["staple_foot"] = [foot[0] + 0.6 * (tip[0] - foot[0]), foot[1] + 0.6 * (tip[1] - foot[1])]
    points = {name: points[name] for name in ("staple_foot", "tip")}
    form = sent | {"points": json.dumps(points), "keep": ["overall_length"]}
    told = as_member(student).post(address(student, photo), form).json()
    assert "cannot be right" in told["lengths"]["overall_length"]["unlikely"]
    answer = as_member(student).post(address(student, photo, "keep_lengths"), form, HTTP_HX_REQUEST="true")
    assert answer.status_code == 422
    assert not Measurement.objects.exists()


@pytest.mark.parametrize("name", ["measure", "look", "looking", "figures", "keep_lengths"])
def test_fellow_student_and_stranger_find_nothing(
    student, other_student, stranger, photo, sent, as_member, name
):
    for member in (other_student, stranger):
        client = as_member(member)
        for home in (student, member):
            to = address(home, photo, name)
            answer = client.get(to) if name in ("measure", "looking") else client.post(to, sent)
            assert answer.status_code == 404
    assert not Measurement.objects.exists()


def test_fellow_students_card_is_none_of_theirs(student, other_student, photo, sent, as_member):
    theirs = card_actions.new_card(other_student)
    answer = as_member(student).post(address(student, photo), sent | {"card": theirs.pk})
    assert answer.status_code == 422


def test_wrong_methods_are_refused(student, photo, as_member):
    client = as_member(student)
    assert client.get(address(student, photo)).status_code == 405
    assert client.get(address(student, photo, "keep_lengths")).status_code == 405
    assert client.post(address(student, photo, "measure")).status_code == 405
    assert client.post(address(student, photo, "looking")).status_code == 405
    assert client.get(address(student, photo, "look")).status_code == 405


def test_pages_ask_the_database_little(student, photo, sent, as_member, django_assert_max_num_queries):
    client = as_member(student)
    for _card in range(6):
        card_actions.new_card(student)
    with django_assert_max_num_queries(14):
        client.get(address(student, photo, "measure"))
    with django_assert_max_num_queries(14):
        client.post(address(student, photo), sent)


def test_photo_taken_back_takes_its_measuring_and_flat_cut_with_it(
    student, photo, sent, as_member, django_capture_on_commit_callbacks
):
    to = address(student, photo, "keep_lengths")
    with django_capture_on_commit_callbacks(execute=True):
        as_member(student).post(to, sent | {"keep": ["overall_length"]})
    flat = PhotoMeasuring.objects.get().flat
    assert flat.storage.exists(flat.name)
    with django_capture_on_commit_callbacks(execute=True):
        take_back_photo(photo)
    assert not PhotoMeasuring.objects.exists()
    assert not flat.storage.exists(flat.name)
