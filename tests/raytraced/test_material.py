"""The ray-traced material's own truth: projection, poses, paper, gaps, phones; no ray tracer is needed."""

import functools
import io
import re

import cv2
import numpy as np
import pytest
from PIL import Image

from reeds.photo.vision.ruler import NOT_BESIDE
from tests.raytraced import beside, eye, lying, opening, phone, pov, project, shot
from tests.raytraced.body import Gap, any_body
from tests.raytraced.lens import MARGIN, Camera, aim
from tests.raytraced.lying import Conditions
from tests.raytraced.sheet import CARD_MM, Sheet, bent

SEEDS = range(4)
ALL = {
    "card": Conditions(),
    "bent": Conditions(bent=True),
    "print": Conditions(factor=(0.97, 1.03)),
    "wire": Conditions(across="wire"),
    "hair": Conditions(across="hair"),
    "fishskin": Conditions(across="fishskin"),
    "two": Conditions(card="two"),
    "other": Conditions(card="other"),
    "ruler": Conditions(card="none", beside="ruler"),
    "id1": Conditions(card="none", beside="id1"),
    "no reed": Conditions(reed=False),
    "dark": Conditions(spoil="dark"),
    "blur": Conditions(spoil="blur"),
}


picture = functools.cache(lying.shot)


def drawn(seed):
    """A reed with its pose, and a camera that looks at it from anywhere above."""
    rng = np.random.default_rng(seed)
    body = any_body(rng)
    pose = lying.lay(rng, body, Sheet())
    return body, pose, picture(1, "fix", seed % len(SEEDS)).camera


def by_opencv(camera, points):
    turn, _ = cv2.Rodrigues(camera.axes)
    width, height = camera.size
    matrix = np.array([[camera.focal, 0, width / 2], [0, camera.focal, height / 2], [0, 0, 1]])
    bends = np.array([camera.k1, camera.k2, 0, 0])
    return cv2.projectPoints(points, turn, -camera.axes @ camera.place, matrix, bends)[0].reshape(-1, 2)


# --- camera ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", SEEDS)
def test_points_are_seen_where_opencv_sees_them(seed):
    body, pose, camera = drawn(seed)
    ring, _ = body.ring("thread_end")
    world = eye.in_room(ring, pose.axes, pose.origin)
    np.testing.assert_allclose(camera.see(world), by_opencv(camera, world), atol=1e-6)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_truth_of_a_picture_is_what_opencv_sees_of_its_surface_points(seed):
    taken = picture(1, "report", seed)
    body, pose = _body_and_pose(taken.seed)
    names = list(taken.truth.surface)
    world = eye.in_room(np.array([taken.truth.surface[n] for n in names]), pose.axes, pose.origin)
    truth = np.array([taken.truth.seen[n] for n in names])
    np.testing.assert_allclose(by_opencv(taken.camera, world), truth, atol=0.01)
    ends = eye.in_room(np.array([[0, 0, 0], [body.length, 0, 0]]), pose.axes, pose.origin)
    on_axis = np.array([taken.truth.axis[n] for n in ("staple_foot", "tip")])
    np.testing.assert_allclose(by_opencv(taken.camera, ends), on_axis, atol=1e-6)


def _body_and_pose(seed):
    rng = np.random.default_rng(seed)
    rng.uniform(1.0, 1.0)  # the sheet's factor is drawn first
    body = any_body(rng)
    lying.reed.any_dress(rng)
    return body, lying.lay(rng, body, Sheet())


def test_unbending_undoes_bending():
    camera = Camera(np.zeros(3), np.eye(3), 1500.0, (2000, 1500), k1=0.02, k2=-0.01)
    flat = np.random.default_rng(1).uniform(-0.6, 0.6, (50, 2))
    np.testing.assert_allclose(camera.unbend(camera.bend(flat)), flat, atol=1e-9)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_ray_tracers_camera_looks_the_same_way(seed):
    body, pose, camera = drawn(seed)
    text = camera.script()
    place, right, up, ahead = (_vector(text, word) for word in ("location", "right", "up", "direction"))
    spot = eye.in_room(np.array([[body.length, 1.0, 0.5]]), pose.axes, pose.origin)[0] - place
    depth = spot @ ahead
    share = np.array([spot @ right / (right @ right), -spot @ up / (up @ up)]) / depth + 0.5
    pixels = share * camera.drawn - (np.array(camera.drawn) - camera.size) / 2
    flat = Camera(camera.place, camera.axes, camera.focal, camera.size)
    np.testing.assert_allclose(pixels, flat.see(spot + place)[0], atol=0.02)


def _vector(text, word):
    return np.array([float(v) for v in re.search(rf"{word} <([^>]*)>", text)[1].split(",")])


def test_a_rendered_spot_comes_to_lie_where_the_lens_sees_it():
    place, axes = aim(np.zeros(3), np.array([20.0, 30, 250]), 15)
    camera = Camera(place, axes, 600.0, (800, 600), k1=0.09, k2=0.01)
    flat = Camera(place, axes, 600.0, (800, 600))
    spot = np.array([[60.0, -40, 3]])
    x, y = flat.see(spot)[0] + (np.array(camera.drawn) - camera.size) / 2 - 0.5
    rows, columns = np.mgrid[: camera.drawn[1], : camera.drawn[0]]
    light = np.exp(-((columns - x) ** 2 + (rows - y) ** 2) / 18)[..., None].repeat(3, 2)
    kept = camera.develop(light)[..., 0]
    rows, columns = np.mgrid[:600, :800] + 0.5
    middle = np.array([(kept * columns).sum(), (kept * rows).sum()]) / kept.sum()
    np.testing.assert_allclose(middle, camera.see(spot)[0], atol=0.02)
    assert np.hypot(*(camera.see(spot) - flat.see(spot))[0]) > 1
    assert camera.drawn[0] / camera.size[0] == pytest.approx(MARGIN, abs=0.01)


# --- scenes ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ALL)
def test_the_same_seed_gives_the_same_scene_and_another_another(name):
    first, again = (lying.shot(1, "fix", 0, ALL[name]) for _ in range(2))
    other = picture(1, "fix", 1, ALL[name])
    assert first.scene == again.scene
    assert first.scene.key == again.scene.key != other.scene.key
    assert first.truth.seen == again.truth.seen
    assert first.phone == again.phone


def test_the_two_halves_share_no_picture():
    seeds = {picture(1, half, n).seed for half in shot.HALVES for n in range(3)}
    keys = {picture(1, half, n).scene.key for half in shot.HALVES for n in range(3)}
    assert len(seeds) == len(keys) == 6


@pytest.mark.parametrize("name", ALL)
def test_a_scene_says_what_it_shows(name):
    text, cond = picture(1, "fix", 1, ALL[name]).scene.text, ALL[name]
    assert text.count("card.png") == {"none": 0, "two": 2}.get(cond.card, 1)
    assert text.count("ruler.png") == (cond.beside == "ruler")
    assert ("granite turbulence 0.4" in text) == cond.reed  # cork
    assert (", 0.05 }" in text) == (cond.across == "hair")
    assert ("wrinkles 0.4" in text) == (cond.across == "fishskin")
    assert ("pigment { srgb <0.8,0.62,0.28> }" in text) == (cond.across == "wire")


@pytest.mark.parametrize("seed", SEEDS)
def test_an_openings_scene_is_the_same_again(seed):
    first, again = (opening.shot(30, "fix", seed) for _ in range(2))
    assert first.scene == again.scene
    assert first.scene.key != opening.shot(30, "report", seed).scene.key


# --- the reed -------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(20))
def test_parts_add_up(seed):
    found = any_body(np.random.default_rng(seed)).lengths()
    assert found["foot_to_thread_end"] + found["cane_beyond_thread"] == pytest.approx(found["tie_length"])
    parts = ["bark_length", "back_length", "heart_length", "tip_length"]
    whole = (
        sum(found[p] for p in parts)
        if "heart_length" in found
        else found["bark_length"] + found["scrape_length"]
    )
    assert whole == pytest.approx(found["cane_beyond_thread"])


@pytest.mark.parametrize("seed", range(20))
def test_the_reed_rests_on_its_cork_and_sinks_into_nothing(seed):
    body, pose, _ = drawn(seed)
    s = np.array([body.cork[0] + 0.5, body.cork[1] - 0.5])
    bottoms = (pose.origin[2] + s * pose.axes[0, 2]) - np.array(body.cork_radii)
    assert bottoms.min() == pytest.approx(0, abs=0.01)
    low = [eye.in_room(body.ring(n)[0], pose.axes, pose.origin)[:, 2].min() for n in body.along()]
    assert min(low) > -0.05
    assert pose.axes[0, 2] < 0.001  # tips forward
    np.testing.assert_allclose(pose.axes @ pose.axes.T, np.eye(3), atol=1e-12)
    assert np.linalg.det(pose.axes) == pytest.approx(1)


@pytest.mark.parametrize("seed", range(20))
def test_what_one_sees_stands_above_the_axis(seed):
    body, pose, camera = drawn(seed)
    where = (pose.axes, pose.origin, camera)
    thread = eye.surface_spot(body, "thread_end", *where)
    assert 1.8 < thread[2] < 2.45
    foot = eye.surface_spot(body, "staple_foot", *where)
    assert np.hypot(*foot[1:]) == pytest.approx(body.foot_radius, abs=0.01)
    beyond = (camera.place - pose.origin) @ pose.axes[0] < 0
    assert (foot[2] < 0) == beyond  # the far side's rim is the outermost only for an eye beyond the foot


def test_an_eye_above_the_middle_sees_the_foots_rim_farther_out_than_the_axis():
    body, pose, _ = drawn(3)
    place, axes = aim(np.array([72.0, -52.5, 0]), np.array([0, 0, 250.0]), 0)
    camera = Camera(place, axes, 1500.0, (2000, 1500))
    where = (pose.axes, pose.origin, camera)
    seen, axis = eye.surface_points(body, *where), eye.axis_points(body, *where)
    out = (axis["staple_foot"][0] - seen["staple_foot"][0]) / camera.focal * (250 - pose.origin[2])
    height = body.foot_radius
    parallax = (place[0] - pose.origin[0]) * height / (250 - pose.origin[2] - height)
    leaning = height * pose.axes[0, 2]  # the rim's top comes forward as the reed tips
    assert out == pytest.approx(parallax + leaning, rel=0.03)
    assert out > 0.2


# --- the sheet ------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(8))
def test_a_bent_sheet_keeps_its_lengths_and_rises(seed):
    sheet = bent(np.random.default_rng(seed))
    start, stop = np.array([5.0, -8.0]), np.array([140.0, -95.0])
    fine = start + (stop - start) * np.linspace(0, 1, 3000)[:, None]
    run = np.linalg.norm(np.diff(sheet.lift(fine), axis=0), axis=1).sum()
    assert run == pytest.approx(np.linalg.norm(stop - start), rel=1e-4)
    x, y = np.meshgrid(np.linspace(0, CARD_MM[0], 40), np.linspace(0, -CARD_MM[1], 40))
    high = sheet.lift(np.column_stack([x.ravel(), y.ravel()]))[:, 2]
    assert high.min() > -1e-9
    assert 0.4 * sheet.bend < np.ptp(high) <= sheet.bend + 1e-9


def test_a_print_of_97_percent_is_97_percent():
    four = Sheet(factor=0.97).lift(np.array([[0, 0], [148, 0], [148, -105]]))
    np.testing.assert_allclose(np.linalg.norm(np.diff(four, axis=0), axis=1), [0.97 * 148, 0.97 * 105])


@pytest.mark.parametrize(("cond", "plane"), [(Conditions(), True), (Conditions(bent=True), False)])
def test_the_markers_of_a_flat_card_are_a_planes_picture_and_those_of_a_bent_one_are_not(cond, plane):
    taken = picture(1, "fix", 1, cond)
    mm = np.concatenate(list(project.MARKERS.values()))
    seen = np.concatenate([taken.truth.markers[n] for n in project.MARKERS])
    camera = taken.camera
    bent_back = camera.unbend((seen - np.array(camera.size) / 2) / camera.focal) * camera.focal
    matrix, _ = cv2.findHomography(mm, bent_back)
    again = cv2.perspectiveTransform(mm.reshape(-1, 1, 2), matrix).reshape(-1, 2)
    assert (np.abs(again - bent_back).max() < 1e-3) == plane


# --- beside the reed ------------------------------------------------------------------------------


def test_what_lies_beside_the_reed_has_its_own_measures():
    ruler = beside.Ruler(np.array([3.0, -7]), 12.0, 0.8)
    assert np.linalg.norm(np.diff(ruler.marks(15, 85), axis=0)) == pytest.approx(70)
    four = beside.Id1(np.array([3.0, -7]), 12.0, 0.76).corners()
    sides = np.linalg.norm(four - np.roll(four, -1, axis=0), axis=1)
    np.testing.assert_allclose(sides, [85.60, 53.98, 85.60, 53.98])


def test_the_rulers_strokes_stand_where_its_marks_are_clicked():
    grey = np.asarray(Image.open(io.BytesIO(beside.ruler_bitmap())).convert("L")).astype(float)
    row = grey[2 * beside.PX_PER_MM]
    dark = np.flatnonzero(row < 60) + 0.5
    strokes = [part.mean() for part in np.split(dark, np.flatnonzero(np.diff(dark) > 1.5) + 1)]
    np.testing.assert_allclose(strokes, (5 + np.arange(101)) * beside.PX_PER_MM, atol=0.51)


# --- openings -------------------------------------------------------------------------------------


def test_a_ruler_elsewhere_asks_for_the_card_and_one_beside_the_reed_measures():
    level = Conditions(beside="ruler", card="none", tilt=(0, 10), distance=((250, 350),))
    one = lying.shot(20, "fix", 0, level)
    known, near, far = one.truth.beside["known"]
    found = project.lengths_beside(one.camera.size, 26, one.truth.seen, one.truth.beside)["tie_length"]
    assert abs(found.value - one.truth.lengths["tie_length"]) <= 2 * found.u
    away = (near - far) / 4
    with pytest.raises(project.Refused) as refused:
        project.lengths_beside(
            one.camera.size, 26, one.truth.seen, {"known": (known, near + away, far + away)}
        )
    assert refused.value.sentence == NOT_BESIDE


@pytest.mark.parametrize("seed", SEEDS)
def test_an_openings_figures_are_those_of_its_edges_seen_straight(seed):
    body = any_body(np.random.default_rng(seed))
    place, axes = aim(np.zeros(3), np.array([400.0, 0, 0]), 0)
    camera = Camera(place, axes, 20000.0, (1000, 800))
    truth = opening.truth_of(body, camera, np.array([-body.length, 0.0, 0.0]))
    left, right = truth.corners
    assert left[0] < right[0]
    scale = truth.width / (right[0] - left[0])
    height = (truth.lower[:, 1] - truth.upper[:, 1]) * scale
    assert height[len(height) // 2] == pytest.approx(truth.height, rel=1e-6)
    x = truth.upper[:, 0] * scale
    assert np.trapezoid(height, x) == pytest.approx(truth.area, rel=0.01)
    half = len(x) // 2
    halves = np.trapezoid(height[: half + 1], x[: half + 1]), np.trapezoid(height[half:], x[half:])
    assert (halves[0] - halves[1]) / sum(halves) == pytest.approx(truth.unevenness, abs=0.01)


def test_a_gap_closes_at_its_reach_and_leans_to_the_left_for_a_positive_lean():
    gap = Gap(height=0.8, reach=0.9, lean=0.3)
    assert gap.opening(np.array([-1.0, -0.9, 0.9, 1.0])).tolist() == [0, 0, 0, 0]
    assert gap.opening(np.array(0.0)) == 0.8
    assert opening.half_area(gap, 3.5, -1) > opening.half_area(gap, 3.5, 1)


@pytest.mark.parametrize("seed", range(20))
def test_an_outside_is_nowhere_inside_the_inside(seed):
    body = any_body(np.random.default_rng(seed))
    s, u = np.meshgrid(np.linspace(body.thread[1], body.length, 40), np.linspace(-1, 1, 41))
    for side in (1, -1):
        assert (side * (body.outer(s, u, side) - body.inner(s, u, side))).min() >= -1e-9


# --- the phone and the kept pictures --------------------------------------------------------------


def test_a_phone_makes_the_same_bytes_of_the_same_light():
    light = np.random.default_rng(1).uniform(0, 1, (240, 320, 3)).astype(np.float32)
    one = phone.any_phone(np.random.default_rng(2), chat=True)
    files = [one.file(one.develop(light, np.random.default_rng(3)), None) for _ in range(2)]
    assert files[0] == files[1]
    assert project.read_picture(files[0]).focal_35mm is None
    assert project.read_picture(one.file(one.develop(light, np.random.default_rng(3)), 26.4)).focal_35mm == 26


def test_light_rises_through_the_tone_curve_and_white_stays_white():
    one = phone.Phone(0.5, 0, 1.0, (1, 1, 1), 0, 0.4, 0, 1.0, 90)
    steps = np.repeat(np.linspace(0, 1, 11), 40)
    seen = one.develop(np.tile(steps[None, :, None], (20, 1, 3)).astype(np.float32), np.random.default_rng(1))
    levels = seen[10, 20::40, 0].astype(int)
    assert (np.diff(levels) > 0).all()
    assert levels[-1] == 255


def test_a_shaken_picture_keeps_its_middle():
    light = np.zeros((101, 101, 3), np.float32)
    light[50, 50] = 1
    shaken = phone._shaken(light, 4.0, 0.7)[..., 0]
    rows, columns = np.mgrid[:101, :101]
    assert shaken.sum() == pytest.approx(1, abs=1e-4)
    np.testing.assert_allclose([(shaken * columns).sum(), (shaken * rows).sum()], [50, 50], atol=0.02)


def test_a_kept_picture_is_read_as_linear_light_and_not_drawn_again(tmp_path, monkeypatch):
    monkeypatch.setenv("RAYTRACED_CACHE", str(tmp_path))
    monkeypatch.setattr(pov, "PROGRAM", "no-such-program")
    scene = pov.Scene("sphere {}", (4, 3))
    with pytest.raises(RuntimeError, match="install the packages 'povray'"):
        pov.render(scene)
    kept = np.zeros((3, 4, 3), np.uint16)
    kept[..., 2] = 65535  # OpenCV writes blue, green, red
    cv2.imwrite(str(tmp_path / f"{scene.key}.png"), kept)
    light, seconds = pov.render(scene)
    assert seconds == 0
    assert light[0, 0].tolist() == [1, 0, 0]


def test_another_picture_on_the_same_text_is_another_scene():
    text = "sphere {}"
    assert pov.Scene(text, (4, 3), {"a.png": b"1"}).key != pov.Scene(text, (4, 3), {"a.png": b"2"}).key
    assert pov.Scene(text, (4, 3)).key != pov.Scene(text, (5, 3)).key
