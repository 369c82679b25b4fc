"""Every page, at both widths, light and dark, in German too: nothing that WCAG 2.2 AA forbids, no error."""

import contextlib
import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.test import Client
from playwright.sync_api import Error, expect

from studio.models import Member, Person
from tests.browser.conftest import DESK, PHONE
from tests.browser.in_the_hand import small_fields, small_letters, small_targets
from tests.browser.large_text import HEIGHT, WIDTH, troubles_in_large_text
from tests.browser.valid_html import not_valid
from tests.signed_in import signed_in
from tests.world import ADDRESSES, FILE, KNOWN, OPEN, PAGES, SIGNED_IN, WATCHED, World, may_open

WIDTHS = {"phone": PHONE, "desk": DESK}
LEAST_DESK = 600
# the rules of axe by which something must have a name, or words a language
OF_WORDS = [
    *("html-has-lang", "html-lang-valid", "valid-lang", "document-title", "image-alt", "svg-img-alt"),
    *("button-name", "link-name", "input-button-name", "label", "select-name", "summary-name"),
    *("aria-command-name", "aria-input-field-name", "aria-meter-name", "aria-toggle-field-name"),
]
# links within the page to what is not on it
LEADS_NOWHERE = """() => [...document.querySelectorAll("a[href^='#']")].map((link) => link.hash.slice(1))
    .filter((id) => id && !document.getElementById(id)).map((id) => `#${id} is not there`)"""
ACCOUNT = ("account_login", "account_reset_password", "account_signup", "account_reset_password_done")
ACCOUNT_SIGNED_IN = ("account_logout", "account_change_password", "account_reauthenticate", "mfa_index")


@pytest.fixture
def world(transactional_db):
    return World()


@pytest.fixture(params=WIDTHS)
def page(request, open_page):
    return open_page(**WIDTHS[request.param])


def is_a_page(path, member=None):
    """Whether a page of ours is there: not a form's target, a picture, a part of a page or a redirect."""
    client = signed_in(member.person) if member else Client()
    answer = client.get(path)
    if answer.streaming:
        list(answer.streaming_content)
        return False
    if answer.status_code != 200 or b"<html" not in answer.content:
        return False
    WRITTEN[path] = answer.content
    return True


WRITTEN = {}  # what such a page holds, before any script has changed it
FOUND = {}  # once for both widths: which addresses are pages does not lie in the window


def pages_of(who, world):
    """The addresses in a studio behind which one of the cast finds a page."""
    if who not in FOUND:
        member = getattr(world, who)
        theirs = [one for one in KNOWN if one.in_studio and member in may_open(one.page, world)]
        FOUND[who] = [one for one in theirs if is_a_page(one.of(world), member)]
    return FOUND[who]


def judge_all(page, paths, axe_by_day_and_night):
    """Look at all of them before saying what is wrong with any."""
    page.add_init_script(Axe().axe_script)  # the browser keeps it, and is not sent it with every page
    wrong = []
    for path in paths:
        try:
            judge(page, path, axe_by_day_and_night)
        except AssertionError as error:
            wrong.append(str(error))
    assert not wrong, "\n\n".join(wrong)


def assert_valid(page, paths):
    """Whether all of them are valid HTML: once, since that does not lie in the width."""
    if page.viewport_size["width"] < LEAST_DESK:
        wrong = not_valid({path: WRITTEN[path] for path in paths})
        assert not wrong, "\n".join(wrong)


def opened(page, path):
    """Open a page; where the one before opens itself anew just then, it is asked once more."""
    with contextlib.suppress(Error):
        return page.goto(path)
    return page.goto(path)


def judge(page, path, axe_by_day_and_night):
    opened(page, path)
    expect(page.get_by_role("heading", level=1).first).to_be_attached()
    axe_by_day_and_night(page)
    # a page that has to be pushed sideways is broken; a phone's own window would grow with it
    width = page.viewport_size["width"]
    assert page.evaluate("document.documentElement.scrollWidth") <= width, f"{path} is too wide"
    wrong = small_letters(page) + page.evaluate(LEADS_NOWHERE)
    if width < LEAST_DESK:
        wrong += small_targets(page) + small_fields(page)
        wrong += [f"in letters twice as large: {one}" for one in troubles_in_large_text(page)]
    assert not wrong, "\n".join([path, *wrong])


@pytest.mark.parametrize("who", ["teacher", "student", "guardian"])
def test_pages_of_a_studio(who, world, page, sign_in, axe_by_day_and_night):
    member = getattr(world, who)
    sign_in(page, member)
    paths = [address.of(world) for address in pages_of(who, world)]
    assert len(paths) >= 10
    judge_all(page, paths, axe_by_day_and_night)
    assert_valid(page, paths)


def test_german_words_are_longer_and_overflow_nowhere(world, open_page, sign_in, axe):
    """On the narrowest phone, twice as large, and at a desk; of axe what lies in words and their language."""
    paths, seen = {}, set()
    for who in ("student", "guardian", "teacher"):  # each address once: by whom a phone is what they have
        theirs = [one for one in pages_of(who, world) if one.name not in seen]
        seen.update(one.name for one in theirs)
        paths[who] = [one.of(world) for one in theirs]
    Person.objects.update(language="de")
    wrong = []
    for who, theirs in paths.items():
        page = sign_in(open_page(**PHONE), getattr(world, who))
        page.set_viewport_size({"width": WIDTH, "height": HEIGHT})
        for path in theirs:
            opened(page, path)
            expect(page.locator("html")).to_have_attribute("lang", "de")
            axe(page, OF_WORDS)
            wrong += [f"{path}: {one}" for one in troubles_in_large_text(page)]
            page.set_viewport_size(DESK["viewport"])
            wide = page.evaluate("document.documentElement.scrollWidth")
            wrong += [f"{path}: {wide} wide at a desk"] if wide > DESK["viewport"]["width"] else []
            page.set_viewport_size({"width": WIDTH, "height": HEIGHT})
        page.context.close()
    assert not wrong, "\n".join(wrong)


def test_pages_before_one_has_signed_in(world, page, axe_by_day_and_night):
    invited = [address.name for address in KNOWN if PAGES[address.name].who == OPEN]
    paths = [path_of(name, world) for name in (*ACCOUNT, *invited)]
    assert all(is_a_page(path) for path in paths)
    judge_all(page, paths, axe_by_day_and_night)
    assert_valid(page, paths)


def test_pages_of_ones_own_account(world, page, sign_in, axe_by_day_and_night):
    sign_in(page, world.student)
    paths = [path_of(name, world) for name in ACCOUNT_SIGNED_IN]
    assert all(is_a_page(path, world.student) for path in paths)
    judge_all(page, paths, axe_by_day_and_night)
    assert_valid(page, paths)


def test_the_choice_among_several_studios(world, page, sign_in, axe_by_day_and_night):
    Member.objects.create(studio=world.stranger.studio, person=world.teacher.person, role="student")
    sign_in(page, world.teacher)
    judge(page, "/", axe_by_day_and_night)


def test_the_page_for_what_is_not_here(world, page, sign_in, axe_by_day_and_night, watch):
    watch.expect(404)
    sign_in(page, world.student)
    judge(page, f"/studio/{world.stranger.studio_id}/desk/", axe_by_day_and_night)


def path_of(name, world):
    return next(address.of(world) for address in ADDRESSES if address.name == name)


def test_every_address_outside_a_studio_is_looked_at():
    assert {address.name for address in KNOWN if not address.in_studio} == {
        name for name, page in PAGES.items() if page.who in (OPEN, FILE, WATCHED, SIGNED_IN)
    }


def test_in_the_dark_only_colours_change():
    """What the rules of OF_COLOURS do not look at is therefore the same in both schemes."""
    blocks = 0
    for file in (settings.BASE_DIR / "static").rglob("*.css"):
        text = re.sub(r"/\*.*?\*/", "", file.read_text(), flags=re.S)
        inside = re.findall(r"@media[^{]*prefers-color-scheme[^{]*\{((?:[^{}]*\{[^{}]*\})*)\s*\}", text)
        assert len(inside) == text.count("prefers-color-scheme"), file
        blocks += len(inside)
        for name, value in re.findall(r"([-\w]+)\s*:\s*([^;{}]+);", "".join(inside)):
            assert name in ("fill", "fill-opacity", "stroke") or re.fullmatch(r"#[0-9a-f]{6}", value), name
    assert blocks >= 2
    for folder, kind in (("static", "*.js"), ("templates", "*.html")):
        for file in (settings.BASE_DIR / folder).rglob(kind):
            # what a phone draws round the page is no part of it
            text = re.sub(r'<meta name="theme-color"[^>]*>', "", file.read_text())
            assert "prefers-color-scheme" not in text, file
