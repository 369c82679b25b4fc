"""What waits in the browser is shown on every page with its size, and sent from whichever is open."""

import re

import pytest
from playwright.sync_api import expect

from lessons.sending.models import Submission
from reeds.photo.models.photo import Photo
from tests import factories as make
from tests.browser.conftest import PHONE, forgive, killed

pytestmark = pytest.mark.flaky(reruns=0)  # what is lost in one of two tries is lost
ROWS_LEFT = """async () => {
    const anywhere = document.querySelector("script[src*=anywhere]").src;
    const { leftBy } = await import(anywhere.replace("anywhere", "outbox"));
    return Object.values(await leftBy(document.body.dataset.person)).flat().length;
}"""


def jpeg(width=800, height=600, name="reed.jpg"):
    return {"name": name, "mimeType": "image/jpeg", "buffer": make.picture(width, height)}


def choose(page, *files):
    page.locator("#chosen").set_input_files(list(files))


def tap_send(page):
    page.get_by_role("button", name="Send it to your teacher").tap()


def test_a_send_tapped_on_a_page_that_was_killed_is_finished_from_another(
    page, line, watch, student, reed, axe_by_day_and_night
):
    line.cut(page.context)
    page.get_by_label("tie length (mm)").fill("72.5")
    page.get_by_label("Your question").fill("Does it lean?")
    choose(page, jpeg())
    expect(page.locator(".photo-coming .photo-said")).to_contain_text("Kept on this phone")
    expect(page.locator(".photo-name")).to_contain_text(re.compile(r"reed\.jpg · \d+ kB"))
    tap_send(page)
    expect(page.locator("#send-waits").get_by_role("button", name="Try now")).to_be_visible()
    expect(page.locator("#kept")).to_contain_text("as soon as")
    page = killed(page, watch)
    assert not Photo.objects.exists()
    page.context.route("**/photo/", lambda route: route.abort())
    line.mend(page.context)
    page.goto(student.to("reeds:box"))
    waits = page.locator("#waiting")
    expect(waits).to_contain_text(re.compile(r"Reed 7 photos: 1 · \d+ kB · then it is sent"))
    expect(waits).to_contain_text("Kept on this phone")
    axe_by_day_and_night(page)
    assert not Submission.objects.exclude(sent_at=None).exists()
    page.context.unroute("**/photo/")
    waits.get_by_role("button", name="Try now").tap()
    waits.get_by_role("link", name="Reed 7 was sent to your teacher.").tap()
    page.wait_for_url(re.compile(r"/rounds/\d+/"))
    [sent] = Submission.objects.all()
    assert (sent.question, sent.draft, sent.photos.count()) == ("Does it lean?", {"tie_length": "72.5"}, 1)
    assert sent.sent_at
    assert page.evaluate(ROWS_LEFT) == 0
    page.goto(student.to("lessons:draft", reed.pk))
    expect(page.get_by_label("Your question")).to_have_value("")
    forgive(watch, "ERR_FAILED")


def test_one_that_stands_still_lets_the_next_go_and_goes_smaller(page, watch):
    page.clock.install()
    stands = []

    def large_stands_still(route):
        """However often it is tried, afterwards too; the small one goes, and the large one made smaller."""
        size = len(route.request.post_data_buffer)
        stands[:] = stands or [size]
        if size < stands[0]:
            route.continue_()

    page.route("**/photo/", large_stands_still)
    with page.expect_request("**/photo/"):
        choose(page, jpeg(3200, 2400, "large.jpg"), jpeg(name="small.jpg"))
    expect(page.get_by_role("button", name="Send it smaller")).to_have_count(1)
    page.clock.fast_forward(21_000)
    expect(page.locator("#photo-list img[src*='thumbnail']")).to_have_count(1)
    expect(page.locator(".photo-coming .photo-said")).to_contain_text("stands still")
    expect(page.locator(".photo-coming")).to_contain_text("large.jpg")
    page.get_by_role("button", name="Send it smaller").tap()
    expect(page.locator("#photo-list img[src*='thumbnail']")).to_have_count(2)
    assert set(Photo.objects.values_list("width", "height")) == {(800, 600), (2500, 1875)}
    forgive(watch, "ERR_FAILED")


def test_a_browser_that_keeps_nothing_says_so_before_anything_is_lost(page, line):
    page.add_init_script("indexedDB.open = () => { throw new DOMException('no', 'InvalidStateError'); };")
    page.reload()
    expect(page.locator("#room")).to_contain_text("keep this page open")
    line.cut(page.context)
    page.get_by_label("tie length (mm)").fill("72.5")
    choose(page, jpeg())
    expect(page.locator(".photo-coming .photo-said")).to_contain_text("no room")
    expect(page.locator("#kept")).to_contain_text("keep this page open until it is sent")
    line.mend(page.context)
    tap_send(page)
    page.wait_for_url(re.compile(r"/rounds/\d+/"))
    assert Submission.objects.get().photos.count() == 1
    assert Submission.objects.get().measurements.count() == 1


def woken(context):
    """Tell the worker that the line is back, as the browser does once no page is open (Background Sync)."""
    blank = context.new_page()
    session = context.new_cdp_session(blank)
    found = []
    session.on("ServiceWorker.workerRegistrationUpdated", lambda told: found.extend(told["registrations"]))
    session.send("ServiceWorker.enable")
    while not found:
        blank.wait_for_timeout(50)
    [worker] = [one for one in found if not one["isDeleted"]]
    told = {"registrationId": worker["registrationId"], "tag": "outbox", "lastChance": False}
    origin = worker["scopeURL"].rstrip("/")
    session.send("ServiceWorker.dispatchSyncEvent", {"origin": origin, **told})
    return blank


def test_the_worker_sends_it_when_no_page_is_open(open_page, sign_in, line, watch, student, reed):
    page = sign_in(open_page(service_workers="allow", **PHONE), student)
    page.goto(student.to("lessons:draft", reed.pk))
    page.evaluate("async () => { await navigator.serviceWorker.ready; }")
    line.cut(page.context)
    page.get_by_label("tie length (mm)").fill("72.5")
    choose(page, jpeg())
    tap_send(page)
    expect(page.locator("#kept")).to_contain_text("from any page")
    context = page.context
    page.goto("about:blank")
    assert not Submission.objects.exclude(sent_at=None).exists()
    line.mend(context)
    blank = woken(context)
    for _try in range(600):
        if Submission.objects.exclude(sent_at=None).exists():
            break
        blank.wait_for_timeout(100)
    sent = Submission.objects.get()
    assert (bool(sent.sent_at), sent.draft, sent.photos.count()) == (True, {"tie_length": "72.5"}, 1)
    forgive(watch, "ERR_FAILED")  # what the worker answers for what is not here
