"""The site as an app: Chromium itself says whether it would offer to install it."""

import shutil

from studio.management.commands.verify import BROWSERS
from tests.browser.conftest import FLAGS, browser_path


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
