"""The whole line on what a studio of many parts runs on: two web processes, two workers, PostgreSQL, S3.

Requests fall on either web process in turn, and the worker that takes the photo up is killed.
"""

import re

import pytest
from django.core.management import call_command
from django_tasks_db.models import DBTaskResult
from playwright.sync_api import expect

from lessons.answering.models import Mark
from lessons.sending.models import Submission
from reeds.photo.models.photo import Photo
from reeds.take.models import Take
from tests import factories as make
from tests.browser.conftest import DESK, FLAGS, PATIENCE_MS, PHONE, browser_path
from tests.browser.drawing_hands import an_answer_by_keyboard
from tests.browser.test_past_the_server import SHOWN, large
from tests.load.rows import left
from tests.phones_sound import CHROMIUM, recorded
from tests.services.conftest import names_in
from tests.services.parted import ANSWERED_BY, parted
from tests.services.test_postgresql import address_of, own_database
from tests.signed_in import session_of
from tests.studio.serving import wait_until

pytestmark = [pytest.mark.postgresql("asks a server"), pytest.mark.django_db(transaction=True)]
SHARED_CACHE = {"default": {"BACKEND": "django.core.cache.backends.db.DatabaseCache", "LOCATION": "cache"}}


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args):
    return {**browser_type_launch_args, "executable_path": browser_path(), "args": FLAGS}


@pytest.fixture
def site(transactional_db, tmp_path, settings, bucket, service):
    settings.CACHES = SHARED_CACHE
    call_command("createcachetable", verbosity=0)
    given = {
        "DATABASE_URL": address_of(own_database()),
        "SECRET_KEY": settings.SECRET_KEY,
        "S3_PREFIX": settings.S3_PREFIX,
        **service.surroundings,
    }
    with parted(tmp_path, given) as site:
        bucket.make_ready(site.address)
        site.begin()
        yield site


@pytest.fixture
def reed(student):
    version = make.VersionFactory(pattern__studio=student.studio)
    return make.ReedFactory(owner=student, version=version, number=7, stage="tied")


@pytest.fixture
def opened(browser, site):
    """Return a function that opens a page of somebody signed in; what goes wrong on it fails the test."""
    troubles, answered = [], set()

    def note(response):
        if by := response.headers.get(ANSWERED_BY):
            answered.add((response.request.resource_type, by))
        if response.status >= 400:
            troubles.append(f"{response.status} {response.request.method} {response.url}")

    def open_as(member, **kind):
        context = browser.new_context(base_url=site.address, service_workers="block", **kind)
        context.set_default_timeout(PATIENCE_MS)
        session = session_of(member.person)
        context.add_cookies([{"name": "sessionid", "value": session, "url": site.address}])
        page = context.new_page()
        page.on("response", note)
        page.on("pageerror", lambda error: troubles.append(str(error)))
        return page

    yield open_as
    assert troubles == []
    assert len({by for kind, by in answered if kind == "document"}) == 2  # each of the two made pages


def test_a_reed_is_sent_and_answered_and_the_answer_read(site, opened, reed, student, teacher, bucket):
    _sends(opened(student, **PHONE), site, reed)
    round_ = Submission.objects.get()
    _answers(opened(teacher, **DESK), round_)
    _reads(opened(student, **PHONE), round_)
    assert (round_.photos.count(), round_.takes.count()) == (1, 1)
    assert round_.measurements.get(quantity="tie_length").value == 75
    kept = {str(file.name) for photo in round_.photos.all() for file in photo.files}
    assert kept <= set(names_in(bucket))
    wait_until(lambda: left({})["tasks"] == 0)  # the letter of the answer can be taken back: it is not due
    assert not DBTaskResult.objects.failed().exists()


def _sends(page, site, reed):
    page.goto(reed.owner.to("lessons:draft", reed.pk))
    page.locator("#chosen").set_input_files(large("reed.jpg"))
    site.kill_who_works()
    _when_ready(page, Photo)  # by another, when the lease of the dead has run out
    expect(page.locator("#photo-list img[src*='thumbnail']")).to_have_count(1)
    page.get_by_label("tie length (mm)").fill("75")
    expect(page.locator("#said-tie_length")).to_contain_text("above: the sheet has 71 to 73 mm")
    page.locator("#takes > summary").click()
    sound = {"name": "tuning.webm", "mimeType": "audio/webm", "buffer": recorded(CHROMIUM)}
    page.locator("[data-item=tuning] [data-take-file]").set_input_files(sound)
    _when_ready(page, Take)
    heard = page.locator("[data-item=tuning] .take-folded")
    page.locator("[data-played]", has=heard).locator("summary").first.click()  # the item, folded at first
    heard.locator("summary").click()
    expect(page.locator("[data-item=tuning] article audio")).to_be_attached()
    page.get_by_role("button", name="Send it to your teacher").click()
    page.wait_for_url(re.compile(r"/rounds/\d+/"))


def _when_ready(page, kept):
    """Look again when a worker has done it, which a page asks for a while only."""
    wait_until(lambda: kept.objects.filter(state="ready").exists())
    page.reload()


def _answers(page, round_):
    page.goto(round_.student.to("lessons:queue"))
    page.locator("a.queue-row").click()
    expect(page.locator("[data-stage] svg.marks")).to_have_attribute("viewBox", re.compile(r"0 0 \d"))
    an_answer_by_keyboard(page)
    expect(page.locator("[data-saving]")).to_have_text("Marks kept.")
    page.keyboard.press("Control+Enter")
    page.wait_for_url(re.compile(r"/queue/$"))
    assert Mark.objects.get().words == "too thick here"


def _reads(page, round_):
    page.goto(round_.student.to("lessons:round", round_.pk))
    expect(page.get_by_text("Good so far.")).to_be_visible()
    expect(page.get_by_text("too thick here")).to_be_visible()
    expect(page.locator(".marks .mark-arrow")).to_be_attached()
    (photo,) = round_.photos.all()
    assert page.evaluate(SHOWN, round_.student.to("reeds:photo", photo.pk, "upright")) == 600
