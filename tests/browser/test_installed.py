"""The site as an app: judged by what a phone asks of one, and by Chromium itself where it can tell."""

import copy
import shutil

from playwright.sync_api import expect

from studio.management.commands.verify import BROWSERS
from tests.browser.conftest import FLAGS, PHONE, browser_path
from tests.browser.installable import IN_CONTROL, lacking, manifest_of
from tests.browser.test_without_a_line import keep_all


def whole_browser():
    """A Chromium with windows, where there is one: the other one has nothing against any page."""
    return next(filter(None, map(shutil.which, BROWSERS[1:])), None) or browser_path()


def test_chromium_has_nothing_against_installing_it(playwright, live_server, tmp_path):
    context = playwright.chromium.launch_persistent_context(
        tmp_path, executable_path=whole_browser(), args=FLAGS
    )
    try:
        page = context.pages[0]
        page.goto(f"{live_server.url}/account/login/")
        tools = context.new_cdp_session(page)
        assert tools.send("Page.getInstallabilityErrors")["installabilityErrors"] == []
        read = tools.send("Page.getAppManifest")
    finally:
        context.close()
    assert read["errors"] == []
    told = read["manifest"]
    assert (told["display"], told["startUrl"], told["scope"]) == ("kStandalone", *[f"{live_server.url}/"] * 2)
    assert {icon["sizes"] for icon in told["icons"]} == {"192x192", "512x512"}


def altered(told, place, **other):
    """Return the manifest with one icon said to be another."""
    made = copy.deepcopy(told)
    made["icons"][place] |= other
    return made


def test_it_has_all_that_a_phone_asks_for_and_what_lacks_is_seen(
    open_page, sign_in, student, line, live_server
):
    page = open_page(**PHONE, service_workers="allow")
    sign_in(page, student).goto("/")
    told = manifest_of(page)
    assert lacking(page, told) == []
    small, _large, masked = told["icons"]
    assert len(lacking(page, altered(told, 0, sizes="512x512"))) == 2
    assert "no ground" in lacking(page, altered(told, 2, src=small["src"], sizes="192x192"))[0]
    assert lacking(page, altered(told, 2, purpose="any")) == ["no maskable icon"]
    assert lacking(page, {**told, "scope": "/static/"}) == ["begins outside its scope"]
    assert masked["purpose"] == "maskable"
    scope, worker = page.evaluate(IN_CONTROL)
    assert (scope, worker.split("?")[0]) == (f"{live_server.url}/", f"{live_server.url}/service-worker.js")
    keep_all(page)
    line.cut()
    page.goto(told["start_url"])
    expect(page.locator("[data-no-line]").first).to_be_visible()
    expect(page.get_by_role("heading", name="My desk")).to_be_visible()
