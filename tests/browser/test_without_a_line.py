"""The app on a phone in a room without a signal: what is kept is shown, dated, and nobody else's ever."""

import re
import threading

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from lessons.sending.models import Submission
from lessons.sending.views import draft as draft_views
from tests import factories as make
from tests.browser.conftest import PATIENCE_MS, PHONE, forgive


@pytest.fixture
def line(line, watch):
    yield line
    # a cut line is what these tests are about
    forgive(watch, "ERR_", "503 GET", "Failed to fetch")


@pytest.fixture
def app(open_page):
    """A phone with the site's worker."""
    return open_page(**PHONE, service_workers="allow")


# a predicate that promises is not waited for by wait_for_function
UNTIL_DONE = """async (patience) => {
  const end = Date.now() + patience;
  while (Date.now() < end) {
    if (await caches.match("/kept-list")) return true;
    await new Promise((go) => setTimeout(go, 100));
  }
  return false;
}"""
KEPT = """async () => {
  const names = (await caches.keys()).filter((name) => name.startsWith("kept "));
  const found = [];
  for (const name of names) {
    for (const { url } of await (await caches.open(name)).keys()) found.push(new URL(url).pathname);
  }
  return { names, found };
}"""


def keep_all(page):
    """Wait until the worker is done with its list; return what is kept, and under which name."""
    assert page.evaluate(UNTIL_DONE, PATIENCE_MS), "the worker did not come to the end of its list"
    return page.evaluate(KEPT)


def no_line(page):
    expect(page.get_by_role("heading", name="No line")).to_be_visible()


def banner(page):
    return page.locator("[data-no-line]").first


@pytest.fixture
def answered(student):
    row = make.sent_round(student, photos=1)
    type(row).objects.filter(pk=row.pk).update(answered_at=timezone.now())
    return row


def test_own_reeds_and_the_last_answer_are_there_without_a_line(app, sign_in, student, answered, line, axe):
    sign_in(app, student).goto("/")
    keep_all(app)
    line.cut()
    lacking = []
    app.on("requestfailed", lambda one: lacking.append(one.url) if "/static/" in one.url else None)
    app.goto("/")
    expect(app.get_by_role("heading", name="My desk")).to_be_visible()
    expect(banner(app)).to_contain_text(re.compile(r"No line: as of \d\d:\d\d"))
    app.goto(student.to("reeds:box"))
    expect(banner(app)).to_be_visible()
    expect(app.get_by_role("button", name="Note it")).to_be_disabled()
    expect(app.locator(".no-line-said").first).to_be_visible()
    axe(app)
    for name, row in (("reeds:reed", answered.reed), ("lessons:round", answered)):
        app.goto(student.to(name, row.pk))
        expect(banner(app)).to_be_visible()
        if name == "reeds:reed":
            app.locator("summary", has_text="Add numbers").tap()
            expect(app.locator("details[open] .no-line-said")).to_contain_text("This needs a line.")
    picture = app.locator(".round-photo img, .marked-photo img").first
    assert picture.evaluate("async (img) => { await img.decode(); return img.naturalWidth; }") == 400
    app.goto(student.to("lessons:term"))
    no_line(app)
    axe(app)
    app.locator("[data-list] a", has_text="My desk").tap()
    expect(app.get_by_role("heading", name="My desk")).to_be_visible()
    assert lacking == []


def test_of_two_people_on_one_phone_neither_sees_the_others_pages(
    app, sign_in, student, other_student, answered, line
):
    sign_in(app, student).goto("/")
    first = keep_all(app)["names"]
    sign_in(app, other_student).goto(other_student.to("lessons:desk"))
    second = keep_all(app)
    assert len(second["names"]) == 1
    assert second["names"] != first
    mine = student.to("lessons:round", answered.pk)
    assert mine not in second["found"]
    line.cut()
    app.goto(mine)
    no_line(app)
    expect(app.locator("[data-list] li").first).to_be_visible()
    expect(app.locator("[data-list]")).not_to_contain_text("Round")
    line.mend()
    app.goto("/account/logout/")
    app.locator("main").get_by_role("button", name="Sign out").tap()
    app.wait_for_url("**/account/login/**")
    assert app.evaluate(KEPT) == {"names": [], "found": []}
    line.cut()
    app.goto(other_student.to("lessons:desk"))
    no_line(app)
    expect(app.get_by_text("No page is kept on this phone.")).to_be_visible()


def test_a_session_that_was_ended_elsewhere_leaves_nothing(app, sign_in, student, answered):
    sign_in(app, student).goto("/")
    assert keep_all(app)["names"]
    app.context.clear_cookies()
    app.goto(student.to("lessons:desk"))
    app.wait_for_url("**/account/login/**")
    assert app.evaluate(KEPT)["names"] == []


def test_a_teachers_phone_keeps_nobodys_pages(app, sign_in, teacher, student, answered, line):
    sign_in(app, teacher).goto(teacher.to("lessons:round", answered.pk))
    app.evaluate("async () => { await navigator.serviceWorker.ready; }")
    app.reload()
    line.cut()
    app.goto(teacher.to("lessons:round", answered.pk))
    no_line(app)
    assert app.evaluate(KEPT)["found"] == []


def test_a_draft_begun_without_a_line_is_checked_here_and_goes_when_it_is_back(app, sign_in, student, line):
    reed = make.ReedFactory(owner=student, stage="tied", number=7)
    sign_in(app, student).goto("/")
    keep_all(app)
    line.cut()
    app.goto(student.to("lessons:draft", reed.pk))
    expect(banner(app)).to_be_visible()
    app.get_by_label("tie length (mm)").fill("75")
    expect(app.locator("#said-tie_length")).to_have_text("above: the sheet has 71 to 73 mm")
    expect(app.locator("#checked")).to_contain_text("Checked on this phone")
    expect(app.locator("#checked")).to_contain_text("75 mm is above the high limit of 73")
    app.get_by_label("tie length (mm)").fill("7.25")
    expect(app.locator("#said-tie_length")).to_contain_text("Did you mean 72.5?")
    app.get_by_label("tie length (mm)").fill("72.5")
    expect(app.locator("#kept")).to_have_text(re.compile("Kept on this phone"))
    expect(app.locator("button[formaction$='/stage/']")).to_be_disabled()  # within a fold
    assert not Submission.objects.exists()
    line.mend()
    app.goto(student.to("lessons:draft", reed.pk))
    expect(app.locator("#kept")).to_have_text("Kept on the server.")
    expect(app.locator("#checked")).not_to_contain_text("Checked on this phone")
    assert Submission.objects.get().draft["tie_length"] == "72.5"


def test_a_server_that_says_nothing_is_not_waited_for(app, sign_in, student, answered, line):
    """A line on which nothing comes is worse than none: the copy is shown after a few seconds."""
    sign_in(app, student).goto("/")
    keep_all(app)
    held = []

    def stall(request, _address):
        held.append(request.dup())  # the connection stays open, and nobody answers

    line.cut(instead=stall)
    app.goto(student.to("lessons:desk"))
    expect(banner(app)).to_be_visible()
    for connection in held:
        connection.close()


@pytest.fixture
def slow_draft(monkeypatch):
    """The draft's page is not answered before this is set."""
    may_come = threading.Event()
    render = draft_views.render

    def held(request, template, *args, **kwargs):
        if template == "lessons/sending/draft.html":
            assert may_come.wait(PATIENCE_MS / 1000)
        return render(request, template, *args, **kwargs)

    monkeypatch.setattr(draft_views, "render", held)
    yield may_come
    may_come.set()


@pytest.mark.parametrize("is_begun", [False, True])
def test_a_draft_that_is_slow_to_come_is_taken_up_when_it_is_there(
    app, sign_in, student, slow_draft, is_begun
):
    """With a line nobody goes on with a copy that lacks the photo they have just sent."""
    reed = make.ReedFactory(owner=student, stage="tied", number=7)
    draft = make.SubmissionFactory(reed=reed)
    slow_draft.set()
    sign_in(app, student).goto("/")
    keep_all(app)
    draft.photos.add(make.ready_photo(reed))
    slow_draft.clear()
    app.goto(student.to("lessons:draft", reed.pk))
    expect(banner(app)).to_be_visible()
    expect(app.locator(".photo")).to_have_count(0)
    if is_begun:
        app.get_by_label("tie length (mm)").fill("72.5")
    slow_draft.set()
    if is_begun:
        banner(app).get_by_role("link", name="Show the page as it is now").tap()
    expect(app.locator(".photo")).to_have_count(1)
    expect(banner(app)).to_be_hidden()
    if is_begun:
        expect(app.get_by_label("tie length (mm)")).to_have_value("72.5")
