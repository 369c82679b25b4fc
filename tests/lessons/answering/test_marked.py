"""Photos with their marks, as a page draws them."""

import json
import math
import re
import uuid
from dataclasses import replace

import cv2
import numpy as np
import pytest
from django.template.loader import render_to_string
from django.test import RequestFactory
from django.utils import timezone

from lessons.answering import actions
from lessons.answering.annotation import Kind, read_drawn
from lessons.answering.models import Mark
from lessons.answering.pages.marked import as_plain, in_mm, marked_photos
from reeds.numbers.measured import Measured
from reeds.photo.measuring import plane_of
from reeds.photo.models.measuring import PhotoMeasuring
from tests import factories as make

LINE = [[0.1, 0.5], [0.4, 0.5]]


@pytest.fixture
def sent(student):
    return make.sent_round(student, photos=2)


@pytest.fixture
def put(sent, teacher):
    """Return a function that marks one of the two photos."""
    answer = actions.answer_of(sent, teacher)

    def marked(photo=0, **given):
        drawn = read_drawn({"kind": "line", "points": LINE, **given})
        return actions.put_mark(answer, sent.photos.all()[photo], uuid.uuid4(), drawn)

    return marked


def shown(sent):
    return marked_photos(sent.photos.all(), Mark.objects.all())


def drawn(sent, student):
    """Return what the partial makes of the first photo."""
    request = RequestFactory().get("/")
    request.member = student
    return render_to_string(
        "lessons/answering/_marked_photo.html", {"marked": shown(sent)[0]}, request=request
    )


def test_marks_are_numbered_through_all_photos(sent, put):
    put(photo=1)
    put(photo=0)
    put(photo=1)
    assert [[one.number for one in photo.shown] for photo in shown(sent)] == [[1], [2, 3]]


def test_a_photo_is_drawn_in_thousandths_of_its_longer_side(sent, put):
    put(points=[[0.0, 0.0], [1.0, 1.0]])
    photo = shown(sent)[0]
    assert (photo.width, photo.height) == (1000, 750)  # the photo has 400 by 300 pixels
    assert photo.shown[0].points == ((0, 0), (1000, 750))


def test_a_line_is_told_in_millimetres_only_where_a_length_is_known(sent, put):
    put(words="scrape")
    put(photo=1, words="other photo")
    assert [photo.shown[0].words for photo in shown(sent)] == ["scrape", "other photo"]
    put(kind="scale", points=[[0.0, 0.1], [0.1, 0.1]], known_mm=10)
    first, second = shown(sent)
    assert re.fullmatch(r"30\.0 ± \d\.\d mm: scrape", first.shown[0].words)
    assert first.shown[1].words == "known length, 10 mm"
    assert second.shown[0].words == "other photo"


FOCAL, SIDES = 3000.0, (4000, 3000)
TURN, SHIFT = (0.3, -0.15, 0.1), (-40.0, 5.0, 260.0)


def seen(turn, shift, *places):
    """Return where OpenCV's own pinhole sees places of the table, as fractions of the picture."""
    camera = np.array([[FOCAL, 0, SIDES[0] / 2], [0, FOCAL, SIDES[1] / 2], [0, 0, 1]])
    where = np.array(places, dtype=float)
    pixels, _ = cv2.projectPoints(where, np.array(turn), np.array(shift), camera, None)
    return (pixels.reshape(-1, 2) / SIDES).tolist()


@pytest.fixture
def tilted(sent):
    """The first photo measured by a tilted camera; returns how it sees places of the reed's surface.

    They are given as mm along the reed and across it, on the plane through foot and tip as they are seen.
    """
    turn, shift = TURN, SHIFT
    photo = sent.photos.all()[0]
    type(photo).objects.filter(pk=photo.pk).update(width=SIDES[0], height=SIDES[1])
    eye = -cv2.Rodrigues(np.array(turn))[0].T @ shift
    towards = np.array([0, eye[1], eye[2] + 3.25]) / np.hypot(eye[1], eye[2] + 3.25)
    near = 1 if eye[0] > 0 else -1  # from beyond the foot one sees the far side of its rim
    ends = np.array([[0, 0, -3.25], [71, 0, -3.25]]) + np.outer([near * 2.7, 0.5], towards)
    way = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
    foot, tip = seen(turn, shift, *ends)
    PhotoMeasuring.objects.create(
        studio=photo.studio,
        photo=photo,
        scale="card",
        landmarks={"staple_foot": np.multiply(foot, SIDES).tolist(), "tip": np.multiply(tip, SIDES).tolist()},
        camera={"numbers": [math.log(FOCAL), 0, 0, 0, *turn, *shift], "heights": [3.25, 3.25]},
        lengths={"overall_length": [71.0, 0.1]},
        measured_at=timezone.now(),
    )
    return lambda *places: seen(turn, shift, *(ends[0] + s * way + [0, y, 0] for s, y in places))


def u_uneven():
    """Of ends up to 0.8 mm off the plane, as limits, seen as askew as this camera sees the reed."""
    x, y, z = -cv2.Rodrigues(np.array(TURN))[0].T @ SHIFT - [35.5, 0, -3.25]
    return math.sqrt(2) * 0.8 / math.sqrt(3) * math.hypot(x, y) / abs(z)


def value_and_doubt(words):
    return tuple(float(number) for number in re.findall(r"[\d.]+", words)[:2])


def test_a_line_on_a_measured_photo_is_told_by_that_photos_own_scale(sent, put, tilted):
    put(points=tilted((10, 0), (40, 0)))
    put(points=tilted((71, -3), (71, 4)))
    along, across = (value_and_doubt(one.words) for one in shown(sent)[0].shown)
    assert along[0] == pytest.approx(30.0, abs=0.05)
    assert across[0] == pytest.approx(7.0, abs=0.05)
    clicks = 0.7  # two ends within 0.15 % of 4000 px, 12 px to the mm
    assert along[1] == pytest.approx(math.hypot(clicks, u_uneven()), abs=0.1)


def test_a_line_off_the_reed_is_less_sure(sent, put, tilted):
    for y in (0.0, 30.0):
        put(points=tilted((0, y), (70, y)))
    on, off = (value_and_doubt(one.words) for one in shown(sent)[0].shown)
    assert off[0] == pytest.approx(70.0, abs=0.2)
    assert off[1] > on[1]


def test_a_known_length_clicked_on_a_measured_photo_does_not_overrule_it(sent, put, tilted):
    put(points=tilted((10, 0), (40, 0)))
    put(kind="scale", points=tilted((0, 20), (50, 20)), known_mm=100)
    line, known = shown(sent)[0].shown
    assert value_and_doubt(line.words)[0] == pytest.approx(30.0, abs=0.05)
    assert known.words == "known length, 100 mm"


def test_beside_a_ruler_a_line_goes_by_the_same_scale_as_the_lengths_kept(sent, put, tilted):
    """The tilt was not known there: the kept lengths are the median over all tilts, and lines follow them."""
    PhotoMeasuring.objects.update(scale="known", lengths={"overall_length": [71.0 * 1.02, 0.9]})
    put(points=tilted((10, 0), (40, 0)))
    value, doubt = value_and_doubt(shown(sent)[0].shown[0].words)
    assert value == pytest.approx(30.6, abs=0.06)
    assert doubt == pytest.approx(math.hypot(0.7, 30.6 * 0.9 / 72.42, u_uneven()), abs=0.1)


def test_a_photo_without_a_kept_length_has_no_scale_of_its_own(sent, put, tilted):
    PhotoMeasuring.objects.update(lengths={})
    put()
    assert shown(sent)[0].plane_json == ""


def test_a_photo_that_was_only_looked_at_has_no_scale_of_its_own(sent, put, tilted):
    PhotoMeasuring.objects.update(measured_at=None)
    put()
    assert shown(sent)[0].shown[0].words == ""
    assert shown(sent)[0].plane_json == ""


@pytest.mark.parametrize(
    ("measured", "said"), [((27.13, 0.58), "27.1 ± 0.6 mm"), ((1.234, 0.031), "1.23 ± 0.03 mm")]
)
def test_a_length_is_told_as_finely_as_its_doubt(measured, said):
    assert in_mm(Measured(*measured)) == said


def test_the_number_of_a_mark_stays_within_the_picture(sent, put):
    put(kind="point", points=[[1.0, 0.0]])
    put(kind="point", points=[[0.0, 1.0]])
    for one in shown(sent)[0].shown:
        x, y = one.badge
        assert 0 < x <= 1000
        assert 0 < y <= 750


@pytest.mark.parametrize("kind", list(Kind))
def test_every_kind_is_drawn_over_the_photo_and_told_below_it(kind, sent, put, student):
    points = {"point": [[0.5, 0.5]], "outline": [*LINE, [0.5, 0.9]], "freehand": [*LINE, [0.5, 0.9]]}
    put(kind=kind, points=points.get(kind, LINE), words="look <here>", known_mm=10)
    page = drawn(sent, student)
    assert f'class="mark mark-{kind}"' in page
    assert "look &lt;here&gt;" in page
    assert student.to("reeds:photo", sent.photos.first().pk, "screen") in page


def test_an_arrow_has_a_head_at_its_second_end(sent, put, student):
    put(kind="arrow", points=[[0.1, 0.4], [0.5, 0.4]])
    (arrow,) = shown(sent)[0].shown
    assert arrow.head.split(" ")[1] == "500,300"
    assert f'points="{arrow.head}"' in drawn(sent, student)


def test_a_mark_without_words_is_told_by_its_kind(sent, put, student):
    put(kind="arrow")
    assert ">arrow</span>" in drawn(sent, student)


def test_the_page_gets_back_what_it_sent(put):
    mark = put(kind="scale", known_mm=12.5, words="bar")
    plain = as_plain(mark)
    assert (plain["kind"], plain["points"], plain["known_mm"], plain["words"]) == ("scale", LINE, 12.5, "bar")
    assert (plain["key"], plain["photo"]) == (str(mark.key), mark.photo_id)


# --- where the card was found and nobody measured ---


@pytest.fixture
def laid(sent, tilted):
    """The first photo as the worker leaves it: its card found, nobody at its points yet."""
    row = PhotoMeasuring.objects.select_related("photo").get()
    plane = replace(plane_of(row.photo, row), share=0.02, clicked=False)
    PhotoMeasuring.objects.update(
        laid=plane.to_json(), measured_at=None, landmarks={}, lengths={}, camera=None
    )
    return tilted


def test_a_line_has_millimetres_at_once_where_the_card_was_found_and_says_that_it_is_less_sure(
    sent, put, laid
):
    put(points=laid((10, 0), (40, 0)), words="scrape")
    words = shown(sent)[0].shown[0].words
    assert re.fullmatch(r"about 30\.\d ± \d\.\d mm: scrape", words)
    value, doubt = value_and_doubt(words)
    assert value == pytest.approx(30.0, abs=0.1)
    assert doubt == pytest.approx(
        math.hypot(0.7, 0.6, u_uneven()), abs=0.1
    )  # the clicks, 2 % of it, and the surface
    assert json.loads(shown(sent)[0].plane_json)["clicked"] is False


def test_a_known_length_that_somebody_clicked_counts_more_than_a_card_that_was_only_found(sent, put, laid):
    put(points=laid((10, 0), (40, 0)))
    put(kind="scale", points=laid((10, 0), (40, 0)), known_mm=60)
    line, _known = shown(sent)[0].shown
    assert value_and_doubt(line.words)[0] == pytest.approx(60.0, abs=0.1)
    assert not line.words.startswith("about")


def test_once_it_is_measured_the_same_mark_is_told_by_that(sent, put, laid, student):
    put(points=laid((10, 0), (40, 0)))
    measured = PhotoMeasuring.objects.get(pk=PhotoMeasuring.objects.get().pk)
    before = Mark.objects.get().annotation
    kept = make.measured_photo(sent.reed).measuring
    for name in ("landmarks", "camera", "lengths"):
        setattr(measured, name, getattr(kept, name))
    measured.measured_at = timezone.now()
    measured.save()
    words = shown(sent)[0].shown[0].words
    assert not words.startswith("about")
    assert Mark.objects.get().annotation == before


def test_a_photo_of_the_opening_has_no_plane_of_a_lying_reed(sent, put, laid):
    sent.photos.update(view="opening")
    put()
    assert shown(sent)[0].shown[0].words == ""
