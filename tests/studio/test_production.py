"""Production for real: started as README says, seen through a proxy, from the first link to a prepared photo.

What one step leaves to the next stands in fixtures of the module, so that each test can run alone.
"""

import json
import re
import signal
import sqlite3
import subprocess
import sys
import uuid
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urljoin

import pytest
from playwright.sync_api import expect

from studio.management.commands.verify import PRODUCTION
from tests import factories as make
from tests.browser.conftest import FLAGS, PHONE, browser_path
from tests.studio.behind_proxy import Visitor, multipart
from tests.studio.serving import (
    PATIENCE_S,
    ROOT,
    Served,
    assert_all_end,
    children_of,
    environment,
    free_port,
    start,
    stop,
    wait_until,
    worker_below,
)

SITE = PRODUCTION["SITE_ADDRESS"]
PASSWORD = "cane and thread and wax"
SIGN_IN = "/account/login/"
A_YEAR_S = 365 * 24 * 3600
HASHED = re.compile(r"/static/.+\.[0-9a-f]{12}\.\w+")
IMPORTED = re.compile(
    r"""^\s*(?:import|export)\b(?:[^;'"()]*\bfrom)?\s*["'](\.[^"']+)["']|\bimport\(["'](\.[^"']+)["']\)""",
    re.M,
)
IN_STYLES = re.compile(r"""url\(["']?([^"')#]+)|@import\s*["']([^"']+)""")
MOST_REQUESTS = 15
GIVEN_ANEW = ("transfer-encoding", "connection", "content-length", "set-cookie")  # the browser's own affair
KINDS = {".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml", ".png": "image/png"}


class Site(Served):
    def visitor(self):
        return Visitor(SITE, int(self.surroundings["PORT"]))


@dataclass
class Sent:
    """A photo that was sent: by whom; where it is told how far it is, shown small and measured."""

    student: Visitor
    prepared: str
    thumbnail: str
    measure: str


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    folder = tmp_path_factory.mktemp("production")
    nobody = f"smtp://127.0.0.1:{free_port()}"
    surroundings = environment(folder / "data", **PRODUCTION | {"EMAIL_URL": nobody})
    output = folder / "output"
    process = start(surroundings, output)
    try:
        wait_until(lambda: f"The studio is at {SITE}/" in output.read_text(), process)
        yield Site(process, output, surroundings)
    except AssertionError as early:
        pytest.fail(f"It did not start, {early}:\n{output.read_text()}")
    finally:
        stop(process)


@pytest.fixture(scope="module")
def first_link(site):
    """The path that `manage.py studio` prints for the first teacher."""
    command = [sys.executable, "manage.py", "studio", "A studio", "--teacher", "anna"]
    ran = subprocess.run(  # noqa: S603
        command, cwd=ROOT, env=site.surroundings, capture_output=True, text=True, check=True
    )
    return re.search(rf"{SITE}(/sign-in/\S+)", ran.stdout).group(1)


@pytest.fixture(scope="module")
def newcomer(site):
    """Who will be the first teacher."""
    return site.visitor()


@pytest.fixture(scope="module")
def password_page(newcomer, first_link):
    return newcomer.get(first_link)


@pytest.fixture(scope="module")
def teacher(newcomer, password_page):
    """The first teacher, who has chosen a password by the link."""
    assert (
        newcomer.send(password_page, password_page.page.form_with("password"), password=PASSWORD).status
        == 200
    )
    return newcomer


@pytest.fixture(scope="module")
def home(teacher):
    """The address of the studio's first page."""
    return re.match(r"/studio/\d+/", teacher.get("/").path).group()


@pytest.fixture(scope="module")
def student(site, teacher, home):
    """A student of age, who has joined by the teacher's link."""
    page = teacher.get(f"{home}people/invite/")
    invitation = teacher.send(page, page.page.form_with("days"), name="Mira")
    link = next(value for value in invitation.page.all("input", "value") if value.startswith(f"{SITE}/join/"))
    mira = site.visitor()
    page = mira.get(link.removeprefix(SITE))
    joined = mira.send(page, page.page.form_with("username"), password=PASSWORD)
    assert (joined.status, joined.path.startswith(home)) == (200, True)
    return mira


@pytest.fixture(scope="module")
def draft_page(student, home):
    """The page on which the student's first reed is sent."""
    page = student.get(f"{home}reeds/new/?then=send")
    draft = student.send(page, page.page.form_with("batch"), staple_length="45")
    assert re.fullmatch(rf"{home}send/\d+/", draft.path)
    return draft


@pytest.fixture(scope="module")
def photo(student, draft_page):
    """A photo, sent as the page's script sends it."""
    upload = draft_page.page.all("section", "data-upload")[0]
    fields = draft_page.page.form_with("key").fields
    given = {"key": fields["key"], "photo-key": str(uuid.uuid4())}
    picture = ("reed.jpg", "image/jpeg", make.picture(800, 600))
    body, kind = multipart(given, {"photo": picture})
    marks = {"HX-Request": "true", "X-CSRFToken": fields["csrfmiddlewaretoken"]}
    taken = student.ask("POST", upload, body, **marks, **{"Content-Type": kind})
    assert taken.status == 200, taken.text
    measure = next(path for path in taken.page.all("a", "href") if "/measure/" in path)
    one = measure.partition("measure/")[0]
    return Sent(student, f"{one}prepared", f"{one}thumbnail/", measure)


@pytest.fixture(scope="module")
def prepared_photo(photo, site):
    wait_until(lambda: photo.thumbnail in photo.student.get(photo.prepared).text, site.process)
    return photo


@pytest.fixture(scope="module")
def sign_in_page(site):
    return site.visitor().get(SIGN_IN)


@pytest.fixture(scope="module")
def measuring_page(prepared_photo, site):
    """The page on which the photo is measured, once the worker has looked at it."""
    student, path = prepared_photo.student, prepared_photo.measure
    wait_until(lambda: 'id="measure"' in student.get(path).text, site.process)
    return student.get(path)


# --- what the proxy sees ---
def test_plain_http_is_led_to_https(site):
    answer = site.visitor().ask("GET", SIGN_IN, scheme="http")
    assert (answer.status, answer.headers["Location"]) == (301, f"{SITE}{SIGN_IN}")


def test_the_sign_in_page_binds_browsers_to_https_and_to_its_own_scripts(sign_in_page):
    assert sign_in_page.status == 200
    assert f"max-age={A_YEAR_S}" in sign_in_page.headers["Strict-Transport-Security"]
    assert "default-src 'self'" in sign_in_page.headers["Content-Security-Policy"]
    assert "unsafe" not in sign_in_page.headers["Content-Security-Policy"]


def test_an_address_that_nobody_has_gets_the_page_that_says_so(teacher):
    answer = teacher.get("/no-such-page/")
    assert (answer.status, "<main" in answer.text) == (404, True)


# --- static files ---
def loaded_by(visitor, path, seen):
    """Ask for a static file as a browser does, and for all that it loads; `seen` holds each once."""
    if path in seen:
        return
    assert HASHED.fullmatch(path), f"{path} would be kept by browsers after it changed"
    answer = visitor.ask("GET", path)
    seen[path] = answer
    assert answer.status == 200, path
    kept = answer.headers["Cache-Control"]
    assert "immutable" in kept
    assert int(re.search(r"max-age=(\d+)", kept).group(1)) >= A_YEAR_S
    kind = Path(path).suffix
    assert answer.headers.get_content_type() == KINDS[kind], path
    names = {".js": IMPORTED, ".css": IN_STYLES}.get(kind)
    ours = kind == ".css" or path.startswith("/static/js/")
    for found in names.findall(answer.text) if names and ours else []:
        loaded_by(visitor, urljoin(path, "".join(found)), seen)


@pytest.mark.parametrize(
    ("opened", "must_hold"),
    [
        ("sign_in_page", ["htmx", "css/base", "icon", "mfa/js/webauthn", "js/passkey"]),
        ("password_page", ["js/show_password"]),
        ("draft_page", ["js/send/page", "js/send/quality", "js/record/playback", "css/draft_page"]),
        ("measuring_page", ["js/measure/page", "css/measure"]),
    ],
)
def test_all_that_a_page_loads_has_a_hashed_name_and_is_kept_for_ever(site, request, opened, must_hold):
    answer = request.getfixturevalue(opened)
    assert answer.status == 200
    seen = {}
    for path in answer.page.assets:
        loaded_by(site.visitor(), path, seen)
    for name in must_hold:
        assert any(re.search(rf"{name}[-.\w]*\.[0-9a-f]{{12}}\.", path) for path in seen), name


def test_every_script_of_ours_holds_what_it_imports_and_none_of_a_library_is_changed(site):
    static = site.data / "static"
    names = json.loads((static / "staticfiles.json").read_text())["paths"]
    scripts = {name: static / to for name, to in names.items() if name.endswith(".js")}
    ours = {name: file.read_text() for name, file in scripts.items() if name.startswith("js/")}
    assert len(ours) > 50
    for name, text in ours.items():
        assert f'modulesHere["{name}"]' in text
        for at_once, later in IMPORTED.findall(text):
            assert not at_once, f"{name} imports {at_once}"
            assert (scripts[name].parent / later).resolve() in set(scripts.values()), f"{name}: {later}"
    theirs = {name: file for name, file in scripts.items() if not name.startswith("js/")}
    assert any("htmx" in name for name in theirs)
    for name, file in theirs.items():
        assert file.read_bytes() == (static / name).read_bytes(), name


class Asked:
    """A page of Chromium that asks the site as the proxy does, and what it asked for."""

    def __init__(self, page, visitor):
        self.page, self.visitor, self.paths, self.wrong = page, visitor, [], []
        page.on("pageerror", lambda error: self.wrong.append(str(error)))
        page.on("console", lambda said: self.wrong.append(said.text) if said.type == "error" else None)
        page.route("**/*", self._answer)

    def _answer(self, route):
        asked = route.request
        path = asked.url.removeprefix(SITE)
        self.paths.append(path)
        headers = {
            name: value for name, value in asked.headers.items() if name not in ("cookie", "host", "referer")
        }
        answer = self.visitor.ask(asked.method, path, asked.post_data_buffer, **headers)
        told = {name: value for name, value in answer.headers.items() if name.lower() not in GIVEN_ANEW}
        route.fulfill(status=answer.status, headers=told, body=answer.body)


def test_a_phone_has_the_page_to_send_with_in_fifteen_requests_and_its_scripts_work(
    playwright, student, draft_page
):
    browser = playwright.chromium.launch(executable_path=browser_path(), args=FLAGS)
    try:
        asked = Asked(browser.new_page(**PHONE, service_workers="block"), student)
        asked.page.goto(SITE + draft_page.path, wait_until="networkidle")
        expect(asked.page.locator("#draft[data-taken-up]")).to_be_attached()
        first = len(asked.paths)
        asked.page.get_by_label("Your question").fill("Does it lean?")
        expect(asked.page.get_by_text("Kept on the server.")).to_be_visible()
    finally:
        browser.close()
    assert not asked.wrong
    assert first <= MOST_REQUESTS, asked.paths
    assert any("js/offline/whose" in path for path in asked.paths)  # what comes after the page is counted too


def test_the_worker_and_the_apps_icons_have_hashed_names_too(site):
    visitor = site.visitor()
    worker, manifest = visitor.get("/service-worker.js"), visitor.get("/manifest.webmanifest")
    assert (worker.status, manifest.status) == (200, 200)
    assert "no-cache" in worker.headers["Cache-Control"]
    seen = {}
    for path in [
        *re.findall(r'from "([^"]+)"', worker.text),
        *re.findall(r'"src": "([^"]+)"', manifest.text),
    ]:
        loaded_by(visitor, path, seen)
    assert any("js/worker/begin" in path for path in seen)
    assert len([path for path in seen if path.endswith(".png")]) == 3


# --- people ---
def test_the_first_teacher_is_signed_in_by_the_link_which_works_once(site, teacher, home, first_link):
    assert teacher.get(f"{home}people/").status == 200
    assert site.visitor().get(first_link).status == 410


def test_who_signed_out_signs_in_with_the_password_and_with_no_other(site, teacher, home):
    anna = site.visitor()

    def sign_in(password):
        page = anna.get(SIGN_IN)
        return anna.send(page, page.page.form_with("login"), login="anna", password=password)

    assert sign_in("something else").path == SIGN_IN
    assert anna.get(f"{home}people/").path.startswith(SIGN_IN)
    assert sign_in(PASSWORD).path.startswith(home)
    leave = anna.get("/account/logout/")
    assert anna.send(leave, leave.page.form_to("/account/logout/")).path == SIGN_IN
    assert anna.get(f"{home}people/").path.startswith(SIGN_IN)
    assert sign_in(PASSWORD).path.startswith(home)
    assert anna.get(f"{home}people/").status == 200


def test_a_form_from_another_site_is_refused(teacher, home):
    page = teacher.get(f"{home}people/invite/")
    elsewhere = {"Origin": "https://elsewhere.example.org"}
    assert teacher.ask("POST", page.path, b"", **elsewhere).status == 403


def test_the_student_who_joined_is_among_the_people(student, teacher, home):
    assert "Mira" in teacher.get(f"{home}people/").text
    assert student.get(f"{home}people/").status in (403, 404)


def test_no_demo_is_loaded(site, teacher):
    with sqlite3.connect(f"file:{site.data / 'studio.sqlite3'}?mode=ro", uri=True) as database:
        studios = database.execute("select name, is_demo from studio_studio").fetchall()
    database.close()
    assert studios == [("A studio", 0)]
    assert "demo" not in site.output.read_text().lower()


# --- the worker ---
def test_the_worker_prepares_a_photo_which_only_those_see_who_may(site, prepared_photo, teacher):
    path = prepared_photo.thumbnail
    picture = prepared_photo.student.get(path)
    assert (picture.status, picture.headers.get_content_type()) == (200, "image/jpeg")
    assert picture.body.startswith(b"\xff\xd8")
    assert "private" in picture.headers["Cache-Control"]
    assert site.visitor().get(path).path.startswith(SIGN_IN)


# --- the end; last, since nothing answers after it ---
def test_a_signal_stops_all_that_was_started_and_no_error_was_told(site, measuring_page):
    started = children_of(site.process.pid)
    assert len(started) >= 3  # web server, its workers, our worker
    assert worker_below(site.process.pid)
    site.process.send_signal(signal.SIGTERM)
    assert site.process.wait(PATIENCE_S) == 0
    assert_all_end(started)
    said = site.output.read_text()
    assert "Traceback" not in said
    assert "ended by itself" not in said
