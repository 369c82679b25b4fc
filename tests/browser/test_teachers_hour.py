"""The teacher's hour in a browser: a note spoken, a demonstration, a lesson, replies; on three screens."""

import datetime as dt
import re
import shutil

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from lessons.answering import actions
from lessons.answering.models import Answer, Reply, Written
from lessons.demonstration.models import Demonstration
from lessons.lesson.models import Lesson, LessonNote
from lessons.voice.models import Voice
from studio.management.commands.verify import BROWSERS
from tests import factories as make
from tests.browser.conftest import DESK, FLAGS, PHONE, forgive

TABLET = {"viewport": {"width": 820, "height": 1180}, "has_touch": True}
each_screen = pytest.mark.parametrize("screen", [PHONE, TABLET, DESK], ids=["phone", "tablet", "desk"])


@pytest.fixture(scope="module")
def hearing(playwright, tmp_path_factory):
    """A Chromium whose microphone plays a tone."""
    file = tmp_path_factory.mktemp("sound") / "microphone.wav"
    file.write_bytes(make.tone(442.0, seconds=20, rate=48000))
    path = next(filter(None, map(shutil.which, BROWSERS)))
    flags = [*FLAGS, f"--use-file-for-fake-audio-capture={file}"]
    browser = playwright.chromium.launch(executable_path=path, args=flags)
    yield browser
    browser.close()


def as_it_fits(page):
    """Nothing is wider than the screen."""
    over = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert over <= 0, over


def record(page, seconds=1.5):
    page.get_by_role("button", name=re.compile("^Record (a note|it here)")).click()
    stop = page.get_by_role("button", name="Stop")
    expect(stop).to_be_visible()
    expect(page.locator("[data-clock]")).to_contain_text("/ 2:00")
    page.wait_for_timeout(seconds * 1000)
    stop.click()
    expect(page.locator(".recorder audio")).to_be_visible()


@each_screen
def test_a_note_is_recorded_in_the_answer_and_its_student_plays_it(
    screen, hearing, open_page, sign_in, teacher, student, sent, axe
):
    page = sign_in(open_page(hearing, **screen, permissions=["microphone"]), teacher)
    page.goto(teacher.to("lessons:review", sent.pk))
    record(page)
    axe(page)
    as_it_fits(page)
    page.get_by_role("button", name="Keep it").click()
    expect(page.locator("[data-voice] .voice audio")).to_be_visible()
    page.get_by_label("play it").check(force=True)
    axe(page)
    page.get_by_role("button", name="Send, next reed").click()
    page.wait_for_url(re.compile(r"/queue/$"))
    voice = Voice.objects.get()
    assert Answer.objects.sent().get().voice == voice
    assert 1.0 < voice.sound_seconds < 4.0
    theirs = sign_in(open_page(hearing, **screen), student)
    theirs.goto(student.to("lessons:round", sent.pk))
    sound = theirs.locator(".spoken audio")
    expect(sound).to_be_visible()
    below = sound.bounding_box()["y"] > theirs.locator(".marked").last.bounding_box()["y"]
    assert below  # under the marks
    sound.evaluate("sound => sound.play()")
    theirs.wait_for_function("() => document.querySelector('.spoken audio').currentTime > 0.3")
    axe(theirs)
    as_it_fits(theirs)


def test_a_note_is_taken_out_again_and_one_that_is_not_kept_holds_the_answer(
    hearing, open_page, sign_in, teacher, sent
):
    page = sign_in(open_page(hearing, **DESK, permissions=["microphone"]), teacher)
    page.goto(teacher.to("lessons:review", sent.pk))
    record(page, 0.8)
    page.get_by_label("play it").check(force=True)
    page.get_by_role("button", name="Send, next reed").click()
    expect(page.locator("[data-refusal]")).to_have_text("Not sent: keep the recording first, or leave it.")
    page.get_by_role("button", name="Keep it").click()
    page.get_by_role("button", name="Take the note out").click()
    expect(page.get_by_role("button", name="Take the note out")).to_have_count(0)
    expect(page.get_by_role("button", name="Record a note")).to_be_visible()
    assert not Voice.objects.exists()


def test_a_file_is_a_note_too_and_one_that_is_no_sound_is_told(desk, sign_in, teacher, sent, axe):
    page = sign_in(desk, teacher)
    page.goto(teacher.to("lessons:review", sent.pk))
    field = page.locator("[data-voice-file]")
    field.set_input_files({"name": "a.wav", "mimeType": "audio/wav", "buffer": b"no sound at all"})
    expect(page.locator("[data-voice]")).to_contain_text("cannot be read as a sound recording")
    axe(page)
    field.set_input_files({"name": "b.wav", "mimeType": "audio/wav", "buffer": make.tone(seconds=1.0)})
    expect(page.locator("[data-voice] .voice audio")).to_be_visible()
    assert Voice.objects.get().sound_is_ready


def test_without_a_connection_a_note_waits_and_is_kept_when_it_is_back(
    hearing, open_page, sign_in, teacher, sent, watch
):
    page = sign_in(open_page(hearing, **DESK, permissions=["microphone"]), teacher)
    page.goto(teacher.to("lessons:review", sent.pk))
    record(page, 0.8)
    address = f"**{teacher.to('lessons:put_voice', sent.pk)}"
    page.route(address, lambda route: route.abort("internetdisconnected"))
    with page.expect_request(address):
        page.get_by_role("button", name="Keep it").click()
    expect(page.locator("[data-voice-said]")).to_contain_text("Not kept yet")
    page.get_by_label("play it").check(force=True)
    page.get_by_role("button", name="Send, next reed").click()
    expect(page.locator("[data-refusal]")).to_contain_text("the spoken note is not kept yet")
    assert not Answer.objects.sent().exists()
    page.unroute(address)
    expect(page.locator("[data-voice] .voice audio")).to_be_visible()
    page.get_by_role("button", name="Send, next reed").click()
    page.wait_for_url(re.compile(r"/queue/$"))
    assert Answer.objects.sent().get().voice is not None
    forgive(watch, "INTERNET_DISCONNECTED")


@each_screen
def test_a_demonstration_is_added_goes_along_and_is_seen(
    screen, open_page, sign_in, teacher, student, axe, tmp_path
):
    leak = make.finding("differs", check="seen", quantity="airtight", next_step="Wind it again.")
    row = make.sent_round(student, findings=[leak])
    photo = tmp_path / "wound.jpg"
    photo.write_bytes(make.picture(800, 600))
    page = sign_in(open_page(**screen), teacher)
    page.goto(teacher.to("lessons:demonstration_new"))
    page.get_by_label("What it shows").fill("Wound without a gap")
    page.get_by_label("Your words").fill("The blades meet all along the sides.")
    page.get_by_label("Offer it beside").select_option("quantity:airtight")
    page.get_by_label("Photo").set_input_files(photo)
    axe(page)
    page.get_by_role("button", name="Keep", exact=True).click()
    expect(page.get_by_role("img", name="Wound without a gap")).to_be_visible()
    axe(page)
    page.goto(teacher.to("lessons:review", row.pk))
    page.locator(".said > li > details > summary").click()
    page.get_by_text("Shown: Wound without a gap").click()
    page.get_by_role("button", name="Let it go along").click()
    expect(page.get_by_label("A demonstration goes along")).to_have_value(re.compile(r"\d"))
    axe(page)
    as_it_fits(page)
    page.get_by_label("work on it").check(force=True)
    page.get_by_role("button", name="Send, next reed").click()
    page.wait_for_url(re.compile(r"/queue/$"))
    theirs = sign_in(open_page(**screen), student)
    theirs.goto(student.to("lessons:round", row.pk))
    theirs.locator(".answer .shown summary").click()
    expect(theirs.locator(".answer").get_by_role("img")).to_be_visible()
    expect(theirs.get_by_text("Shown by your teacher: Wound without a gap")).to_have_count(2)
    axe(theirs)
    as_it_fits(theirs)


def test_a_demonstration_is_recorded_in_the_page(hearing, open_page, sign_in, teacher, axe):
    page = sign_in(open_page(hearing, **PHONE, permissions=["microphone"]), teacher)
    page.goto(teacher.to("lessons:demonstration_new"))
    page.get_by_label("What it shows").fill("A low note, softly")
    page.get_by_label("Your words").fill("So little air.")
    record(page)
    axe(page)
    page.get_by_role("button", name="Keep it").click()
    page.get_by_role("button", name="Keep", exact=True).click()
    expect(page.locator(".shown-files audio")).to_be_visible()
    row = Demonstration.objects.get()
    assert row.sound_is_ready
    assert 1.0 < row.sound_seconds < 4.0


def _lesson(teacher, student, days, agreed=""):
    at = timezone.now() + dt.timedelta(days=days)
    row = Lesson.objects.create(
        studio=teacher.studio, at=at, time_zone="Europe/Berlin", held_by=teacher, agreed=agreed
    )
    row.present.add(student)
    return row


@each_screen
def test_a_lesson_gathers_and_both_add_a_note(screen, open_page, sign_in, teacher, student, axe):
    _lesson(teacher, student, -7, "Tie two a day apart.")
    coming = _lesson(teacher, student, 2)
    brought = make.sent_round(student)
    answer = actions.answer_of(brought, teacher)
    actions.keep_answer(answer, Written(decision="bring", next_step="I want to hear the low notes."))
    actions.send_answer(answer)
    make.sent_round(student, question="Is this one worth scraping?")
    Reply.objects.create(studio=brought.studio, submission=brought, by=student, words="It holds now.")
    theirs = sign_in(open_page(**screen), student)
    theirs.goto(student.to("lessons:desk"))
    theirs.get_by_role("link", name=re.compile(r"\d\d:\d\d")).click()
    expect(theirs.get_by_text("Tie two a day apart.")).to_be_visible()
    expect(theirs.get_by_text("I want to hear the low notes.")).to_be_visible()
    theirs.get_by_label("Add a note").fill("The knife is sharp again.")
    theirs.get_by_role("button", name="Note it").click()
    expect(theirs.get_by_text("The knife is sharp again.")).to_be_visible()
    axe(theirs)
    as_it_fits(theirs)
    page = sign_in(open_page(**screen), teacher)
    page.goto(teacher.to("lessons:lesson", coming.pk))
    for words in ("The knife is sharp again.", "It holds now.", "Is this one worth scraping?"):
        expect(page.get_by_text(words)).to_be_visible()
    page.get_by_label("agreed until the next lesson").fill("Scrape the better one.")
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_label("agreed until the next lesson")).to_have_value("Scrape the better one.")
    axe(page)
    as_it_fits(page)
    assert LessonNote.objects.get().by == student


@each_screen
def test_what_a_student_says_back_stands_in_the_queue_until_it_is_read(
    screen, open_page, sign_in, teacher, student, axe
):
    row = make.sent_round(student)
    answer = actions.answer_of(row, teacher)
    actions.keep_answer(answer, Written(decision="work"))
    actions.send_answer(answer)
    theirs = sign_in(open_page(**screen), student)
    theirs.goto(student.to("lessons:round", row.pk))
    theirs.get_by_label("Say something back").fill("It holds now. May I scrape it?")
    theirs.get_by_role("button", name="Say it").click()
    expect(theirs.locator("#replies")).to_contain_text("It holds now.")
    axe(theirs)
    page = sign_in(open_page(**screen), teacher)
    page.goto(teacher.to("lessons:queue"))
    unread = page.get_by_role("region", name="Said back, not read yet")
    expect(unread).to_contain_text("It holds now.")
    axe(page)
    as_it_fits(page)
    unread.get_by_role("link").click()
    expect(page.locator("#replies")).to_contain_text("May I scrape it?")
    page.wait_for_load_state("networkidle")
    page.goto(teacher.to("lessons:queue"))
    expect(page.get_by_role("region", name="Said back, not read yet")).to_have_count(0)
