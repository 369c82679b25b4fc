"""The shell's commands: JSON and 0, or one sentence on standard error and 2; no database."""

import io
import json

import cv2
import numpy as np
import pytest
from django.core.management import call_command
from PIL import Image

from reeds.photo import printing as cards
from reeds.photo.vision.card import MARKER_PLACES_MM, marker_corners_mm
from reeds.photo.vision.card_view import NO_FACTOR
from reeds.photo.vision.decode import read_picture
from reeds.photo.vision.lengths import LANDMARKS, LENGTHS
from tests.printed import card_picture
from tests.simulator.opening import opening_photo
from tests.simulator.photo import Conditions, card_photo


@pytest.fixture(scope="module")
def image():
    return card_picture()


@pytest.fixture(scope="module")
def photo(image):
    return card_photo(np.random.default_rng(21), image, (148, 105), (36, 52.5), Conditions(megapixels=(2, 3)))


@pytest.fixture
def folder(tmp_path, photo):
    (tmp_path / "reed.jpg").write_bytes(photo.jpeg())
    points = {name: [float(v) for v in place] for name, place in photo.marks.items()}
    (tmp_path / "points.json").write_text(json.dumps(points | {"back_start": points.get("back_start")}))
    return tmp_path


def run(*args):
    out, err = io.StringIO(), io.StringIO()
    status = 0
    try:
        call_command(*map(str, args), stdout=out, stderr=err)
    except SystemExit as stop:
        status = stop.code
    return status, out.getvalue(), err.getvalue()


def report(*args):
    status, out, err = run(*args)
    assert (status, err) == (0, "")
    return json.loads(out)


def refused(*args):
    status, out, err = run(*args)
    assert (status, out) == (2, "")
    assert len(err.strip().splitlines()) == 1
    return err


def test_card_is_written_and_described(tmp_path):
    found = report("card", tmp_path / "c.png", "--dpi", "100", "--number", "9")
    assert read_picture((tmp_path / "c.png").read_bytes()).size == (583, 413)
    assert (found["number"], len(found["markers"]), found["reed"]["foot"]) == (9, 10, [36.0, 52.5])
    report("card", tmp_path / "c.pdf")
    assert (tmp_path / "c.pdf").read_bytes().startswith(b"%PDF")
    assert ".pdf or .png" in refused("card", tmp_path / "c.gif")


def test_photo_with_points_gives_every_name_and_the_true_length(folder, photo):
    heights = ",".join(f"{h:.2f}" for h in photo.heights)
    found = report(
        "measure_photo", folder / "reed.jpg", "--points", folder / "points.json", "--axis-height", heights,
        "--focal-35mm", f"{photo.focal_35mm:.2f}",
    )  # fmt: skip
    assert found["scale"]["source"] == "card"
    assert set(found["landmarks"]) == set(LANDMARKS)
    assert set(found["lengths"]) == set(LENGTHS)
    tie = found["lengths"]["tie_length"]
    assert tie["value"] == pytest.approx(photo.lengths["tie_length"], abs=0.2)
    assert (tie["unit"], tie["k"]) == ("mm", 2)
    assert tie["expanded_uncertainty"] == pytest.approx(2 * tie["standard_uncertainty"], abs=2e-6)
    assert found["lengths"]["overall_length"] == tie


def test_photo_without_points_uses_the_proposals(folder, photo):
    found = report("measure_photo", folder / "reed.jpg")
    assert found["lengths"]["tie_length"]["value"] == pytest.approx(photo.lengths["tie_length"], abs=1.5)
    assert found["landmarks"]["back_start"] is None
    assert found["lengths"]["back_length"] is None
    assert any("printing factor" in w for w in found["warnings"])


def test_without_card_by_a_ruler_and_by_an_id1_card(folder, photo):
    see = photo.view.see
    ruler = see(np.array([[40.0, 40, 0.5], [100, 40, 0.5]])).ravel()
    points = ("--points", folder / "points.json")
    found = report("measure_photo", folder / "reed.jpg", *points, "--known", "60", *ruler)
    assert found["scale"]["source"] == "known length"
    tie = found["lengths"]["tie_length"]
    assert abs(tie["value"] - photo.lengths["tie_length"]) < 3 * tie["standard_uncertainty"]
    corners = see(
        np.array([[30, 60, 0.4], [115.6, 60, 0.4], [115.6, 113.98, 0.4], [30, 113.98, 0.4]])
    ).ravel()
    found = report("measure_photo", folder / "reed.jpg", *points, "--id1", *corners)
    assert found["scale"]["source"] == "id1"
    assert found["lengths"]["tie_length"]["value"] == pytest.approx(photo.lengths["tie_length"], abs=0.5)
    assert "add --points" in refused("measure_photo", folder / "reed.jpg", "--known", "60", *ruler)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("no json", "landmark names"),
        ('{"nose": [1, 2]}', "landmark names"),
        ('{"tip": [1]}', "landmark names"),
        ('{"tip": [1, NaN]}', "landmark names"),
        ('{"tip": [1, 99999]}', "within the picture"),
        ("[1, 2]", "landmark names"),
    ],
)
def test_points_that_make_no_sense_are_refused(folder, text, said):
    (folder / "bad.json").write_text(text)
    assert said in refused("measure_photo", folder / "reed.jpg", "--points", folder / "bad.json")


@pytest.mark.parametrize(
    ("option", "value", "said"),
    [
        ("--axis-height", "high", "axis height"),
        ("--axis-height", "1,2,3", "axis height"),
        ("--axis-height", "50", "axis height"),
        ("--print-factor", "5", "printing factor"),
        ("--focal-35mm", "2", "focal length"),
    ],
)
def test_options_that_make_no_sense_are_refused(folder, option, value, said):
    assert said in refused("measure_photo", folder / "reed.jpg", option, value)


def test_pictures_that_cannot_be_read_are_refused(tmp_path):
    assert "No such file" in refused("measure_photo", tmp_path / "none.jpg")
    (tmp_path / "text.jpg").write_text("hello")
    assert "cannot be read" in refused("measure_photo", tmp_path / "text.jpg")


def covered(photo, kept):
    """The photo with every marker but the `kept` ones painted over."""
    rgb = photo.rgb.copy()
    for number in set(MARKER_PLACES_MM) - set(kept):
        corners = photo.view.see(np.column_stack([marker_corners_mm(number), np.zeros(4)]))
        cv2.fillConvexPoly(rgb, np.round(corners).astype(np.int32), (240, 240, 240))
    return rgb


def other_dictionary():
    """The card with markers of 6 x 6 cells in the places of ours."""
    rgb = np.array(Image.open(io.BytesIO(cards.png(1, dpi=254))).convert("RGB"))
    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_6X6_50)
    for number, (x, y) in MARKER_PLACES_MM.items():
        left, top, side = round(x * 10), round(y * 10), 160
        marker = cv2.aruco.generateImageMarker(book, number, side)
        rgb[top : top + side, left : left + side] = marker[..., None]
    return rgb


def another(image, foot_x=36, **conditions):
    cond = Conditions(megapixels=(2, 3), **conditions)
    return card_photo(np.random.default_rng(7), image, (148, 105), (foot_x, 52.5), cond).rgb


REFUSED = {
    "three markers": (lambda photo, _: covered(photo, (0, 3, 9)), "whole card"),
    "none below the reed": (lambda photo, _: covered(photo, (0, 1, 2, 3, 4, 5)), "one side"),
    "none above the reed": (lambda photo, _: covered(photo, (4, 5, 6, 7, 8, 9)), "one side"),
    "another dictionary": (lambda *_: other_dictionary(), "not those of our card"),
    "blurred": (lambda photo, _: cv2.GaussianBlur(photo.rgb, (0, 0), 4.5), "blurred"),
    "blurred beyond reading": (lambda photo, _: cv2.GaussianBlur(photo.rgb, (0, 0), 14), "blurred"),
    "steep": (lambda _, image: another(image, tilt=(50, 54), distance=(260, 300)), "45 degrees"),
    "reed off the card": (lambda _, image: another(image, foot_x=-20), "off the card"),
    "no reed": (lambda _, image: another(image, reed=False), "No reed can be seen"),
    "mirrored": (lambda photo, _: photo.rgb[:, ::-1], "mirrored"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_pictures_that_cannot_be_measured_are_refused_with_one_sentence(tmp_path, photo, image, name):
    make, said = REFUSED[name]
    Image.fromarray(np.ascontiguousarray(make(photo, image))).save(tmp_path / "photo.png")
    sentence = refused("measure_photo", tmp_path / "photo.png").strip()
    assert said in sentence
    assert sentence.endswith(".")
    assert ". " not in sentence


def test_landmarks_off_the_card_are_refused(folder, photo):
    spot = photo.view.see(np.array([[152.0, 50, 0]]))[0].tolist()
    points = json.loads((folder / "points.json").read_text()) | {"tip": spot}
    (folder / "off.json").write_text(json.dumps(points))
    assert "off the card" in refused("measure_photo", folder / "reed.jpg", "--points", folder / "off.json")


def test_a_card_whose_print_is_not_stated_carries_a_printers_three_per_cent_and_says_so(folder):
    given = ("measure_photo", folder / "reed.jpg", "--points", folder / "points.json")
    stated, unstated = (report(*given, *more) for more in (("--print-factor", "1"), ()))
    for name, one in stated["lengths"].items():
        if one is not None:
            assert unstated["lengths"][name]["value"] == one["value"]
            # u = a / sqrt(3) for limits of +-3 % (JCGM 100:2008, 4.3.7)
            more = np.sqrt(
                unstated["lengths"][name]["standard_uncertainty"] ** 2 - one["standard_uncertainty"] ** 2
            )
            assert more == pytest.approx(one["value"] * 0.03 / np.sqrt(3), rel=1e-3)
    assert [said for said in unstated["warnings"] if said not in stated["warnings"]] == [NO_FACTOR]


def test_a_print_that_is_stated_smaller_makes_all_lengths_smaller(folder):
    given = ("measure_photo", folder / "reed.jpg", "--points", folder / "points.json", "--axis-height", "0")
    whole, small = (
        report(*given, "--print-factor", f)["lengths"]["tie_length"]["value"] for f in ("1", "0.98")
    )
    assert small / whole == pytest.approx(0.98, abs=3e-4)  # its own thickness is not printed


def test_opening_is_measured_or_refused(tmp_path):
    seen = opening_photo(np.random.default_rng(8))
    Image.fromarray(seen.rgb).save(tmp_path / "tip.png")
    found = report("measure_opening", tmp_path / "tip.png")
    assert found["height_ratio"]["value"] == pytest.approx(seen.height_ratio, rel=0.06)
    assert found["height_mm"] is found["width_mm"] is found["area_mm2"] is None
    found = report("measure_opening", tmp_path / "tip.png", "--tip-width", f"{seen.width:.2f}")
    assert found["area_mm2"]["value"] == pytest.approx(seen.area, rel=0.08)
    assert found["area_mm2"]["unit"] == "mm2"
    Image.new("RGB", (400, 300), (200, 200, 200)).save(tmp_path / "wall.png")
    assert "No opening" in refused("measure_opening", tmp_path / "wall.png")


@pytest.mark.parametrize(
    "words",
    [
        ("measure_photo", "none.jpg"),
        ("measure_opening", "none.jpg"),
        ("card", "no-such-folder/card.png"),
    ],
)
def test_a_file_that_is_not_there_is_told_in_one_line(tmp_path, monkeypatch, words):
    monkeypatch.chdir(tmp_path)
    assert words[1] in refused(*words)


@pytest.mark.parametrize("words", [("measure_photo",), ("measure_photo", "a.jpg", "--known", "10", "1")])
def test_what_is_typed_wrong_is_told_in_one_line(words, capsys):
    with pytest.raises(SystemExit) as ended:
        call_command(*words)
    said = capsys.readouterr()
    assert (ended.value.code, said.out, len(said.err.splitlines())) == (2, "", 1)
