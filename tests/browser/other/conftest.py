"""Browsers of other makes than Chromium, driven by WebDriver: WebKit as in iPhones, and Firefox."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from django.core.handlers.wsgi import WSGIHandler
from django.http import HttpResponse
from selenium import webdriver
from selenium.webdriver.common.options import ArgOptions
from selenium.webdriver.remote.client_config import ClientConfig
from selenium.webdriver.remote.remote_connection import RemoteConnection
from selenium.webdriver.webkitgtk.service import Service

from tests.browser.conftest import PATIENCE_MS
from tests.browser.other.hand import Hand
from tests.browser.other.marionette import Marionette
from tests.studio.serving import wait_until

PATIENCE_S = PATIENCE_MS / 1000
LIBRARIES = Path("/usr/lib")
# their windows are drawn for a desk: without this neither goes below 450 px
NARROW = {
    "webkit": ("gtk-3.0/gtk.css", "* { min-width: 0; min-height: 0; padding: 0; margin: 0; }"),
    "firefox": ("chrome/userChrome.css", ":root, body, #navigator-toolbox { min-width: 0 !important; }"),
}
PREFERENCES = {
    "marionette.port": 0,  # any that is free; it writes down which
    "toolkit.legacyUserProfileCustomizations.stylesheets": True,
    "network.captive-portal-service.enabled": False,
    "network.connectivity-service.enabled": False,
    "app.normandy.enabled": False,
    "datareporting.policy.dataSubmissionEnabled": False,
    "browser.safebrowsing.update.enabled": False,
    "media.navigator.streams.fake": True,
    "media.navigator.permission.disabled": True,
}


def _narrow(name: str, folder: Path) -> None:
    file, rules = NARROW[name]
    (folder / file).parent.mkdir()
    (folder / file).write_text(rules)


@contextmanager
def child(*command: str, **given: object) -> Iterator[subprocess.Popen[bytes]]:
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    started = subprocess.Popen(command, **quiet | given)  # noqa: S603  # browsers, and their screen
    try:
        yield started
    finally:
        started.terminate()
        started.wait()


@contextmanager
def screen() -> Iterator[str]:
    """A screen that nobody sees, for a browser that must draw; the X server chooses its number itself."""
    theirs, ours = os.pipe()
    command = ("Xvfb", "-displayfd", str(ours), "-screen", "0", "1600x1600x24", "-nolisten", "tcp")
    with child(*command, pass_fds=[ours]), os.fdopen(theirs) as said:
        os.close(ours)
        yield f":{int(said.readline())}"


@contextmanager
def driven(by: object, options: ArgOptions) -> Iterator[webdriver.Remote]:
    driver = webdriver.Remote(by, options=options)
    try:
        driver.set_script_timeout(PATIENCE_S)
        yield driver
    finally:
        driver.quit()


@contextmanager
def webkit(folder: Path) -> Iterator[webdriver.Remote]:
    _narrow("webkit", folder)
    options = webdriver.WebKitGTKOptions()
    options.binary_location = str(next(LIBRARIES.glob("*/webkit2gtk-4.*/MiniBrowser")))
    for one in ("automation", "enable-media-stream=true", "enable-mock-capture-devices=true"):
        options.add_argument(f"--{one}")
    with screen() as display:
        surroundings = {**os.environ, "DISPLAY": display, "XDG_CONFIG_HOME": str(folder), "HOME": str(folder)}
        service = Service(shutil.which("WebKitWebDriver"), env=surroundings)
        service.start()
        try:
            with driven(RemoteConnection(client_config=ClientConfig(service.service_url)), options) as driver:
                yield driver
        finally:
            service.stop()


@contextmanager
def firefox(folder: Path) -> Iterator[webdriver.Remote]:
    _narrow("firefox", folder)
    lines = [f"user_pref({json.dumps(name)}, {json.dumps(value)});" for name, value in PREFERENCES.items()]
    (folder / "user.js").write_text("\n".join(lines))
    path = shutil.which("firefox-esr") or shutil.which("firefox")
    port = folder / "MarionetteActivePort"
    command = (path, "--headless", "--marionette", "--no-remote", "--profile", str(folder))
    with child(*command, env={**os.environ, "HOME": str(folder)}):
        wait_until(lambda: port.exists() and port.read_text().strip())
        connection = Marionette(int(port.read_text()), PATIENCE_S)
        with driven(connection, webdriver.FirefoxOptions()) as driver:
            yield driver


TOLD = "/told-by-the-browser"
# runs before any other script of the page and tells what goes wrong; the site's worker it cannot hear
TELLS = f"""
const tell = (what) => navigator.sendBeacon({json.dumps(TOLD)}, `${{location.pathname}}: ${{what}}`);
for (const name of ["error", "warn"]) {{
  const said = console[name];
  console[name] = (...what) => {{
    tell(`console.${{name}}: ${{what.join(" ")}}`);
    said.apply(console, what);
  }};
}}
addEventListener("error", ({{ message, target }}) => {{
  const address = target.src ?? target.href;
  if (address !== "data:,") tell(message ?? `not loaded: ${{address}}`); // that stands for a picture to come
}}, true);
addEventListener("unhandledrejection", (event) => tell(`rejected: ${{event.reason?.stack ?? event.reason}}`));
const later = () => new Promise(() => {{}});
if (!sessionStorage.getItem("worker")) ServiceWorkerContainer.prototype.register = later;
document.addEventListener("securitypolicyviolation",
  (event) => tell(`forbidden: ${{event.effectiveDirective}} ${{event.blockedURI}} ${{event.sample}}`));
"""


@pytest.fixture
def troubles(monkeypatch):
    """What goes wrong: told by a script that the server puts before all others, and by its answers."""
    told: list[str] = []
    answered = WSGIHandler.get_response

    def get_response(handler, request):
        if request.path == TOLD:
            if request.method == "POST":
                told.append(request.body.decode())
            return HttpResponse(TELLS, content_type="text/javascript")
        request.META.pop("HTTP_ACCEPT_ENCODING", None)
        answer = answered(handler, request)
        if answer.status_code >= 400:
            told.append(f"{answer.status_code} {request.method} {request.path}")
        if answer.get("Content-Type", "").startswith("text/html") and not answer.streaming:
            tells = f'<head><script src="{TOLD}"></script>'.encode()
            answer.content = answer.content.replace(b"<head>", tells, 1)
            answer["Content-Length"] = str(len(answer.content))
        return answer

    monkeypatch.setattr(WSGIHandler, "get_response", get_response)
    yield told
    assert not told, "\n".join(told)


@pytest.fixture(params=[webkit, firefox], ids=lambda start: start.__name__)
def hand(request, live_server, troubles, tmp_path):
    """A hand at such a browser."""
    home = tmp_path / "home"
    home.mkdir()
    with request.param(home) as driver:
        yield Hand(driver, live_server.url)
