"""The recorder in the page: a known tone comes in by the microphone, the worker hears its cents."""

import io
import re
import shutil

import numpy as np
import pytest
from playwright.sync_api import expect
from scipy.io import wavfile

from lessons.sending.models import Submission
from reeds.reed.models.measurement import Measurement
from reeds.take.models import Take
from studio.management.commands.verify import BROWSERS
from tests import factories as make
from tests.browser.conftest import FLAGS, PHONE, forgive, killed

CENTS = 12.0
HZ = 442 * 2 ** (CENTS / 1200)


@pytest.fixture(scope="module")
def microphone_browser(playwright, tmp_path_factory):
    """Return a function that starts a Chromium whose microphone plays a file."""
    started = []

    def start(sound):
        file = tmp_path_factory.mktemp("sound") / "microphone.wav"
        file.write_bytes(sound)
        path = next(filter(None, map(shutil.which, BROWSERS)))
        flags = [*FLAGS, f"--use-file-for-fake-audio-capture={file}"]
        started.append(playwright.chromium.launch(executable_path=path, args=flags))
        return started[-1]

    yield start
    for browser in started:
        browser.close()


@pytest.fixture(scope="module")
def hears_a_tone(microphone_browser):
    return microphone_browser(make.tone(HZ, seconds=20, rate=48000))


@pytest.fixture
def opened(open_page, sign_in, student, reed):
    """Return a function that opens the page of sending in a browser, as a phone."""

    def opened(browser, path=None, **options):
        page = open_page(browser, **(PHONE | {"permissions": ["microphone"]} | options))
        sign_in(page, student)
        page.goto(path or student.to("lessons:draft", reed.pk))
        if path is None:
            unfold(page)
        return page

    return opened


@pytest.fixture
def reed(student):
    return make.ReedFactory(owner=student, stage="playing", number=7)


def row(page, item="tuning"):
    return page.locator(f'[data-item="{item}"]')


def unfold(page, item="tuning"):
    """One item of the playing test is open at a time."""
    fold = page.locator("[data-played]", has=row(page, item))
    if fold.get_attribute("open") is None:
        fold.locator("summary").first.tap()
    expect(fold).to_have_attribute("open", "")


def record(page, item="tuning", seconds=2.0):
    """Record for some time and stop."""
    unfold(page, item)
    row(page, item).get_by_role("button", name=re.compile("^Record")).tap()
    stop = page.get_by_role("button", name="Stop")
    expect(stop).to_be_visible()
    page.wait_for_timeout(seconds * 1000)
    stop.tap()
    expect(page.locator(".recorder audio")).to_be_visible()


def keep(page):
    page.get_by_role("button", name="Keep it").tap()


def test_a_tone_that_is_recorded_in_the_page_shows_its_cents(hears_a_tone, opened, axe, reed):
    page = opened(hears_a_tone)
    row(page).get_by_role("button", name=re.compile("^Record")).tap()
    expect(page.locator(".recorder")).to_be_visible()
    axe(page)
    expect(page.get_by_role("button", name="Stop")).to_be_visible()
    expect(page.locator(".recorder meter")).not_to_have_attribute("value", "0")
    page.wait_for_timeout(2500)
    page.get_by_role("button", name="Stop").tap()
    expect(page.locator(".recorder audio")).to_be_visible()
    axe(page)
    keep(page)
    expect(row(page).locator(".take-words")).to_contain_text("cents")
    [take] = Take.objects.all()
    assert take.granted == dict.fromkeys(("autoGainControl", "noiseSuppression", "echoCancellation"), False)
    assert take.result["item"]["cents"] == pytest.approx(CENTS, abs=1.0)
    assert Measurement.objects.get(quantity="a4_cents").value == pytest.approx(CENTS, abs=1.0)
    assert Submission.objects.get().takes.get() == take
    shown = row(page).locator(".take-words").inner_text()
    assert "+12" in shown or "+11" in shown, shown
    expect(page.locator("#checked .finding").first).to_be_visible()
    axe(page)


def test_the_sound_plays_and_its_cursor_moves_by_keys_and_click(hears_a_tone, opened, student, reed):
    take = make.ready_take(reed)
    page = opened(hears_a_tone, student.to("reeds:take", take.pk))
    picture = page.get_by_role("slider")
    picture.focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    expect(picture).to_have_attribute("aria-valuenow", "0.50")
    page.wait_for_function("() => document.querySelector('audio').currentTime === 0.5")
    page.keyboard.press(" ")
    page.wait_for_function("() => document.querySelector('audio').currentTime > 0.8")
    page.keyboard.press(" ")
    assert float(picture.get_attribute("aria-valuenow")) > 0.7
    box = picture.bounding_box()
    picture.click(position={"x": box["width"] * 0.9, "y": box["height"] / 2})
    page.wait_for_function("() => document.querySelector('audio').currentTime > 2.4")


def test_again_throws_the_first_one_away(hears_a_tone, opened):
    page = opened(hears_a_tone)
    record(page, seconds=0.6)
    page.get_by_role("button", name="Again").tap()
    expect(page.get_by_role("button", name="Stop")).to_be_visible()
    page.wait_for_timeout(800)
    page.get_by_role("button", name="Stop").tap()
    expect(page.locator(".recorder audio")).to_be_visible()
    keep(page)
    expect(row(page).locator("[data-player]")).to_have_count(1)
    assert Take.objects.count() == 1


def test_a_recording_kept_without_connection_survives_a_killed_page(
    hears_a_tone, opened, watch, line, student, reed
):
    page = opened(hears_a_tone)
    line.cut(page.context)
    record(page, seconds=0.8)
    keep(page)
    expect(page.locator(".take-coming .photo-said")).to_have_text(re.compile("Kept on this phone"))
    expect(page.locator("#kept")).to_have_text(re.compile("Kept on this phone"))
    page = killed(page, watch)
    assert not Take.objects.exists()
    line.mend(page.context)
    page.goto(student.to("lessons:draft", reed.pk))
    expect(row(page).locator("[data-player]")).to_have_count(1)
    page.reload()
    expect(row(page).locator("[data-player]")).to_have_count(0)
    unfold(page)
    row(page).locator(".take-folded > summary").tap()  # what was heard before is drawn when opened
    expect(row(page).locator("[data-player]")).to_have_count(1)
    assert Take.objects.count() == 1


def test_an_answer_lost_on_the_way_doubles_no_recording(hears_a_tone, opened, watch):
    page = opened(hears_a_tone)
    seen = []

    def swallow(route):
        seen.append(route.fetch())
        route.abort("connectionreset") if len(seen) == 1 else route.fulfill(response=seen[-1])

    page.route("**/take/", swallow)
    choose(page, make.tone())
    expect(row(page).locator("[data-player]")).to_have_count(1)
    assert len(seen) == 2
    assert Take.objects.count() == 1
    forgive(watch, "CONNECTION_RESET")


def choose(page, data, name="take.wav", kind="audio/wav", item="tuning"):
    chooser = row(page, item).locator("input[type=file]")
    chooser.set_input_files({"name": name, "mimeType": kind, "buffer": data})


def test_a_file_from_the_phone_is_heard_and_removed(hears_a_tone, opened):
    page = opened(hears_a_tone)
    choose(page, make.tone(HZ))
    expect(row(page).get_by_text("changed the sound by itself is not known")).to_be_visible()
    row(page).get_by_role("button", name=re.compile("^Remove")).tap()
    expect(row(page).locator("[data-player]")).to_have_count(0)
    assert not Submission.objects.get().takes.exists()
    assert not Measurement.objects.exists()


def test_what_is_no_recording_is_said(hears_a_tone, opened):
    page = opened(hears_a_tone)
    choose(page, b"words, no sound" * 100)
    expect(row(page).locator(".said-error")).to_contain_text("cannot be read")
    choose(page, b"")
    expect(row(page).locator(".take-coming .said-error")).to_contain_text("empty")


def test_the_reference_reed_is_recorded_from_the_same_page(hears_a_tone, opened, student, reed):
    good = make.ReedFactory(owner=student, stage="playing", number=3, is_reference=True)
    page = opened(hears_a_tone)
    page.get_by_label("You record now with").select_option("reference")
    choose(page, make.tone())
    expect(row(page).locator("[data-player]")).to_have_count(1)
    page.get_by_label("You record now with").select_option("")
    choose(page, make.tone(HZ))
    expect(row(page).locator("[data-player]")).to_have_count(2)
    expect(row(page).get_by_text("cents beside your reference reed")).to_be_visible()
    assert {take.reed_id for take in Submission.objects.get().takes.all()} == {reed.pk, good.pk}


def test_a_microphone_that_is_refused_says_so(hears_a_tone, opened, axe):
    page = opened(hears_a_tone, permissions=[])
    page.add_init_script("""navigator.mediaDevices.getUserMedia = () =>
        Promise.reject(new DOMException("no", "NotAllowedError"));""")
    page.reload()
    unfold(page)
    row(page).get_by_role("button", name=re.compile("^Record")).tap()
    expect(page.locator(".recorder-said")).to_contain_text("was refused")
    axe(page)


@pytest.mark.parametrize(
    ("error", "words"), [("NotFoundError", "No microphone"), ("NotReadableError", "something else")]
)
def test_a_microphone_that_is_not_there_says_so(error, words, hears_a_tone, opened):
    page = opened(hears_a_tone)
    page.add_init_script(f"""navigator.mediaDevices.getUserMedia = () =>
        Promise.reject(new DOMException("no", "{error}"));""")
    page.reload()
    unfold(page)
    row(page).get_by_role("button", name=re.compile("^Record")).tap()
    expect(page.locator(".recorder-said")).to_contain_text(words)


def test_a_browser_that_changes_the_sound_is_told_of(hears_a_tone, opened):
    page = opened(hears_a_tone)
    page.add_init_script("""const settings = MediaStreamTrack.prototype.getSettings;
        MediaStreamTrack.prototype.getSettings = function () {
            return { ...settings.call(this), autoGainControl: true };
        };""")
    page.reload()
    record(page, seconds=0.8)
    expect(page.locator(".recorder .take-cannot")).to_contain_text("could not be asked to stop")
    keep(page)
    expect(row(page).locator(".take-cannot").first).to_contain_text("cannot be told")
    assert Take.objects.get().granted["autoGainControl"] is True


def test_silence_is_said_while_and_after_it_is_recorded(microphone_browser, opened):
    page = opened(microphone_browser(make.tone(HZ, seconds=0.001, rate=48000)))
    row(page).get_by_role("button", name=re.compile("^Record")).tap()
    expect(page.locator(".recorder-said")).to_contain_text("Nothing is heard")
    page.get_by_role("button", name="Stop").tap()
    expect(page.locator(".recorder-said")).to_contain_text("silent")


def test_sending_waits_for_a_recording_on_its_way(hears_a_tone, opened):
    page = opened(hears_a_tone)
    page.route("**/take/", lambda route: (page.wait_for_timeout(500), route.continue_())[1])
    choose(page, make.tone())
    page.get_by_role("button", name="Send it to your teacher").tap()
    page.wait_for_url(re.compile(r"/rounds/\d+/"))
    assert Submission.objects.get().takes.count() == 1


def test_a_browser_that_does_not_say_what_it_changes_is_told_of_too(hears_a_tone, opened, student, reed):
    page = opened(hears_a_tone)
    page.add_init_script("MediaStreamTrack.prototype.getSettings = () => ({});")
    page.reload()
    record(page, seconds=0.8)
    expect(page.locator(".recorder .take-cannot")).to_contain_text("does not say")
    keep(page)
    unknown = row(page).locator(".take-cannot", has_text="is not known")
    expect(unknown).to_be_visible()
    take = Take.objects.get()
    assert set(take.granted.values()) == {None}
    page.goto(student.to("reeds:take", take.pk))
    expect(page.get_by_text("level, range and soft attacks cannot be told")).to_be_visible()


def test_it_stops_by_itself_after_three_minutes_and_what_was_recorded_can_be_kept(hears_a_tone, opened):
    page = opened(hears_a_tone)
    page.clock.install()
    page.reload()
    unfold(page)
    row(page).get_by_role("button", name=re.compile("^Record")).tap()
    expect(page.locator(".recorder-count")).to_be_visible()
    expect(page.get_by_role("button", name="Stop")).to_be_visible()
    page.wait_for_timeout(1500)  # of real sound, since the recorder knows nothing of the page's clock
    page.clock.fast_forward(170_000)
    expect(page.locator(".recorder-clock")).to_contain_text("2:5")
    page.clock.fast_forward(10_000)
    expect(page.locator(".recorder-said")).to_contain_text("Three minutes are full")
    expect(page.get_by_role("button", name="Stop")).to_be_hidden()
    expect(page.locator(".recorder audio")).to_be_visible()
    keep(page)
    expect(row(page).locator("[data-player]")).to_have_count(1)
    assert Take.objects.get().is_ready


def too_loud():
    """A tone that runs into full scale, as a phone too near the bell gives it."""
    t = np.arange(20 * 48000) / 48000
    samples = np.clip(3.0 * np.sin(2 * np.pi * 442 * t), -1, 1)
    out = io.BytesIO()
    wavfile.write(out, 48000, (samples * 32767).astype(np.int16))
    return out.getvalue()


def test_a_recorder_that_overloads_says_so_and_the_figures_leave_out_the_level(microphone_browser, opened):
    page = opened(microphone_browser(too_loud()))
    row(page).get_by_role("button", name=re.compile("^Record")).tap()
    expect(page.locator(".recorder-said")).to_contain_text("Too loud")
    page.wait_for_timeout(1500)
    page.get_by_role("button", name="Stop").tap()
    expect(page.locator(".recorder-said")).to_contain_text("overloaded")
    keep(page)
    expect(row(page).locator("[data-player]")).to_have_count(1)


def test_without_script_a_file_is_added_beside_its_item(open_page, sign_in, student, reed):
    page = open_page(java_script_enabled=False, **PHONE)
    sign_in(page, student)
    page.goto(student.to("lessons:draft", reed.pk))
    sound = {"name": "a.wav", "mimeType": "audio/wav", "buffer": make.tone(HZ)}
    unfold(page)
    row(page).locator("input[type=file]").last.set_input_files(sound)
    row(page).get_by_role("button", name=re.compile("^Add it")).click()
    page.wait_for_url("**#takes")
    expect(row(page).locator(".take-folded")).to_contain_text("cents")
