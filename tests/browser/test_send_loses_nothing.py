"""A phone in bad company: no connection, double taps, the back button, a page killed. Nothing is lost."""

import io
import re

import pillow_heif
import pytest
from PIL import Image
from playwright.sync_api import expect

from lessons.sending.models import Submission
from reeds.photo.models.photo import Photo
from reeds.photo.tasks.prepare import prepare_photo
from tests import factories as make
from tests.browser.conftest import forgive, killed
from tests.conftest import tasks_by

pytestmark = pytest.mark.flaky(reruns=0)  # what is lost in one of two tries is lost
pillow_heif.register_heif_opener()
KEPT_ON_SERVER = "Kept on the server."
KEPT_ON_PHONE = re.compile("Kept on this phone")


@pytest.fixture
def lost(page, line):
    """Return a function that takes the connection away and gives it back."""

    def connection(is_lost):
        line.cut(page.context) if is_lost else line.mend(page.context)

    return connection


def jpeg(name="reed.jpg"):
    return {"name": name, "mimeType": "image/jpeg", "buffer": make.picture(800, 600)}


def heic():
    buffer = io.BytesIO()
    exif = Image.Exif()
    exif[274] = 6
    Image.new("RGB", (640, 480), "#a9804f").save(buffer, "HEIF", exif=exif.tobytes())
    return {"name": "IMG_0001.HEIC", "mimeType": "image/heic", "buffer": buffer.getvalue()}


def choose(page, *files):
    page.locator("#chosen").set_input_files(list(files))


def thumbnails(page):
    return page.locator("#photo-list img[src*='thumbnail']")


def send(page):
    page.get_by_role("button", name="Send it to your teacher").tap()
    page.wait_for_url(re.compile(r"/rounds/\d+/"))


def test_the_checks_answer_while_a_number_is_typed(page):
    page.get_by_label("tie length (mm)").fill("75")
    expect(page.locator("#said-tie_length")).to_have_text("above: the sheet has 71 to 73 mm")
    expect(page.locator("#checked .finding-look").first).to_contain_text("75")
    expect(page.locator("#kept")).to_have_text(KEPT_ON_SERVER)
    assert Submission.objects.get().draft["tie_length"] == "75"


def test_a_number_that_cannot_be_right_is_asked_back_beside_it(page):
    page.get_by_label("tie length (mm)").fill("7.25")
    expect(page.locator("#said-tie_length")).to_contain_text("72.5")
    page.get_by_label("staple length (mm)").fill("45")
    expect(page.locator("#said-staple_length")).not_to_be_empty()
    expect(page.get_by_label("tie length (mm)")).to_have_value("7.25")


def test_numbers_half_typed_survive_a_reload_and_a_reload_without_connection(page, lost):
    page.get_by_label("tie length (mm)").fill("72.")
    page.reload()
    expect(page.get_by_label("tie length (mm)")).to_have_value("72.")
    lost(True)
    page.get_by_label("tie length (mm)").fill("72.5")
    page.get_by_label("Your question").fill("Does it lean?")
    expect(page.locator("#kept")).to_have_text(KEPT_ON_PHONE)
    lost(False)
    page.goto(page.url)
    expect(page.get_by_label("tie length (mm)")).to_have_value("72.5")
    expect(page.get_by_label("Your question")).to_have_value("Does it lean?")
    expect(page.locator("#kept")).to_have_text(KEPT_ON_SERVER)
    assert Submission.objects.get().question == "Does it lean?"


def test_a_photo_chosen_without_connection_goes_up_when_it_is_back(page, lost):
    lost(True)
    choose(page, jpeg())
    expect(page.locator(".photo-coming .photo-said")).to_have_text(KEPT_ON_PHONE)
    assert not Photo.objects.exists()
    lost(False)
    expect(thumbnails(page)).to_have_count(1)
    assert Photo.objects.count() == 1
    expect(page.locator("#kept")).to_have_text(KEPT_ON_SERVER)


def test_a_photo_survives_the_page_that_was_killed_before_it_was_up(page, lost, watch):
    lost(True)
    choose(page, jpeg(), jpeg("second.jpg"))
    expect(page.locator(".photo-coming")).to_have_count(2)
    expect(page.locator(".photo-coming .photo-said").first).to_have_text(KEPT_ON_PHONE)
    address = page.url
    page = killed(page, watch)
    lost(False)
    page.goto(address)
    expect(thumbnails(page)).to_have_count(2)
    page.reload()
    expect(thumbnails(page)).to_have_count(2)
    assert Photo.objects.count() == 2


def test_an_answer_that_was_lost_on_the_way_doubles_no_photo(page, watch):
    seen = []

    def swallow(route):
        seen.append(route.fetch())  # the server has it, the phone never hears of it
        route.abort("connectionreset") if len(seen) == 1 else route.fulfill(response=seen[-1])

    page.route("**/photo/", swallow)
    choose(page, jpeg())
    expect(thumbnails(page)).to_have_count(1)
    forgive(watch, "ERR_CONNECTION_RESET")
    assert len(seen) == 2
    assert Photo.objects.count() == 1
    assert Submission.objects.get().photos.count() == 1


def test_a_double_tap_on_send_sends_once(page):
    page.get_by_label("tie length (mm)").fill("72")
    page.get_by_role("button", name="Send it to your teacher").dblclick()
    page.wait_for_url(re.compile(r"/rounds/\d+/"))
    assert Submission.objects.count() == 1
    assert Submission.objects.get().measurements.count() == 1


def test_send_without_connection_is_sent_when_it_is_back(page, lost):
    page.get_by_label("tie length (mm)").fill("72")
    lost(True)
    page.get_by_role("button", name="Send it to your teacher").tap()
    expect(page.locator("#kept")).to_contain_text("as soon as the connection is back")
    lost(False)
    page.wait_for_url(re.compile(r"/rounds/\d+/"))
    assert Submission.objects.get().sent_at


def test_send_waits_for_photos_on_their_way(page):
    page.route("**/photo/", lambda route: (page.wait_for_timeout(300), route.continue_())[1])
    choose(page, jpeg(), jpeg("second.jpg"))
    send(page)
    assert Submission.objects.get().photos.count() == 2


def test_the_back_button_after_sending_sends_nothing_again(page, student, reed):
    page.goto(student.to("lessons:send"))
    page.get_by_role("link", name=re.compile("^7")).tap()
    page.get_by_label("tie length (mm)").fill("72")
    send(page)
    page.go_back()
    expect(page.get_by_role("heading", name="Send a reed")).to_be_visible()
    page.goto(student.to("lessons:draft", reed.pk))
    expect(page.get_by_label("tie length (mm)")).to_have_value("")
    assert Submission.objects.exclude(sent_at=None).count() == 1


def test_a_photo_from_a_telephone_in_heic_is_shown_upright(page):
    choose(page, heic())
    expect(thumbnails(page)).to_have_count(1)
    shown = thumbnails(page).first.evaluate(
        "async (img) => { await img.decode(); return [img.naturalWidth, img.naturalHeight]; }"
    )
    assert shown == [240, 320]
    send(page)
    expect(page.locator("figure img")).to_be_visible()


def test_what_is_no_picture_is_said_and_the_rest_stays(page, watch):
    watch.expect(422)
    page.get_by_label("Your question").fill("Does it lean?")
    choose(page, {"name": "reed.jpg", "mimeType": "image/jpeg", "buffer": b"no picture at all"}, jpeg())
    expect(page.locator(".photo-coming .said-error")).to_contain_text("not a picture")
    expect(thumbnails(page)).to_have_count(1)
    choose(page, {"name": "empty.jpg", "mimeType": "image/jpeg", "buffer": b""})
    expect(page.locator(".photo-coming .said-error").last).to_contain_text("empty")
    expect(page.get_by_label("Your question")).to_have_value("Does it lean?")


def test_a_ninth_photo_is_said_to_be_one_too_many(page):
    choose(page, *(jpeg(f"{n}.jpg") for n in range(9)))
    expect(thumbnails(page)).to_have_count(8)
    expect(page.locator(".photo-coming .said-error")).to_contain_text("8 photos")
    assert Submission.objects.get().photos.count() == 8


def test_a_photo_is_named_and_removed(page):
    choose(page, jpeg())
    expect(thumbnails(page)).to_have_count(1)
    page.get_by_label("Seen from where").select_option("opening")
    page.wait_for_function("() => !document.querySelector('.htmx-request')")
    page.reload()
    expect(page.get_by_label("Seen from where")).to_have_value("opening")
    page.get_by_role("button", name="Remove").tap()
    expect(thumbnails(page)).to_have_count(0)
    assert not Submission.objects.get().photos.exists()


def test_a_round_sent_from_another_page_is_said_and_what_is_typed_begins_the_next(page, student, reed, watch):
    watch.expect(409)
    other = page.context.new_page()
    other.goto(page.url)
    other.get_by_label("tie length (mm)").fill("72")
    send(other)
    draft = Submission.objects.get()
    page.get_by_label("Your question").fill("And this?")
    expect(page.locator("#checked")).to_contain_text("sent meanwhile")
    page.get_by_role("button", name=re.compile("Begin the next round")).tap()
    expect(page.get_by_label("Your question")).to_have_value("And this?")
    expect(page.get_by_text("kept here, for the next round")).to_be_visible()
    draft.refresh_from_db()
    assert draft.sent_at
    assert draft.question == ""
    assert Submission.objects.get(sent_at=None).question == "And this?"


def test_the_pages_of_sending_have_no_accessibility_violation(page, axe, student):
    axe(page)
    page.get_by_label("tie length (mm)").fill("75")
    expect(page.locator("#checked .finding").first).to_be_visible()
    choose(page, jpeg())
    expect(thumbnails(page)).to_have_count(1)
    axe(page)
    send(page)
    axe(page)
    for name in ("lessons:send", "lessons:desk"):
        page.goto(student.to(name))
        axe(page)


def test_a_photo_shows_itself_ready_when_the_worker_is_done(page, settings):
    settings.TASKS = tasks_by("django_tasks.backends.dummy.DummyBackend")
    choose(page, jpeg())
    expect(page.get_by_text("The server has it and is preparing it.")).to_be_visible()
    page.get_by_label("Seen from where").select_option("side")
    prepare_photo.call(Photo.objects.get().pk)
    expect(thumbnails(page)).to_have_count(1)
    expect(page.get_by_label("Seen from where")).to_have_value("side")
    assert page.locator("[hx-get]").count() == 0


def test_one_who_was_signed_out_meanwhile_is_told_and_finds_it_all_again(page, sign_in, student):
    page.context.clear_cookies(name="sessionid")
    page.get_by_label("tie length (mm)").fill("72.5")
    expect(page.locator("#kept")).to_contain_text("You are signed out")
    choose(page, jpeg())
    expect(page.locator(".photo-coming .photo-said")).not_to_be_empty()
    expect(page.get_by_label("tie length (mm)")).to_have_value("72.5")
    sign_in(page, student)
    page.reload()
    expect(page.get_by_label("tie length (mm)")).to_have_value("72.5")
    expect(thumbnails(page)).to_have_count(1)
    expect(page.locator("#kept")).to_have_text(KEPT_ON_SERVER)
    assert Submission.objects.get().draft["tie_length"] == "72.5"


def test_a_reed_taken_out_while_one_types_is_told(page, reed, watch):
    watch.expect(410)
    type(reed).objects.update(taken_out_at=reed.made_at)
    page.get_by_label("tie length (mm)").fill("72.5")
    expect(page.locator("#kept")).to_contain_text("taken out")
    expect(page.get_by_label("tie length (mm)")).to_have_value("72.5")
    forgive(watch, "Response Status Error Code 410")


def test_a_second_tap_takes_a_rating_back(page, reed):
    type(reed).objects.update(stage="playing")
    page.reload()
    late = page.locator("input[name=plays-crow][value='3']")
    late.tap()
    expect(page.locator("#kept")).to_have_text(KEPT_ON_SERVER)
    assert Submission.objects.get().draft == {"plays-crow": "3"}
    late.tap()
    expect(late).not_to_be_checked()
    page.wait_for_function("() => document.querySelector('#kept').dataset.state === 'server'")


def test_an_older_save_that_comes_late_changes_nothing(page):
    """Two saves overtake each other: the first is held back on its way until the second is kept."""
    held = []

    def hold_the_first(route):
        if held:
            return route.continue_()
        return held.append(route)

    page.route("**/save/", hold_the_first)
    with page.expect_request("**/save/"):
        page.get_by_label("tie length (mm)").fill("71")
    other = page.context.new_page()
    other.goto(page.url)
    other.get_by_label("tie length (mm)").fill("72")
    expect(other.locator("#kept")).to_have_text(KEPT_ON_SERVER)
    with page.expect_response("**/save/"):
        held[0].continue_()
    assert Submission.objects.get().draft["tie_length"] == "72"


def test_on_a_desk_too_everything_is_reached_by_keyboard(desk, sign_in, student, reed):
    sign_in(desk, student)
    desk.goto(student.to("lessons:draft", reed.pk))
    desk.get_by_label("tie length (mm)").focus()
    desk.keyboard.type("72")
    for _ in range(2):
        desk.keyboard.press("Tab")
    expect(desk.locator("input[name=airtight]:focus")).to_have_count(1)
    desk.keyboard.press("ArrowRight")
    expect(desk.locator("input[name=airtight][value=yes]")).to_be_checked()
    desk.get_by_label("Your question").focus()
    desk.keyboard.press("Tab")
    desk.keyboard.press("Enter")
    desk.wait_for_url(re.compile(r"/rounds/\d+/"))
    assert Submission.objects.get().measurements.count() == 2
