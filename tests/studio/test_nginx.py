"""The examples for a server: a real nginx with a throw-away certificate before the site in production.

The units are not run: systemd reads them, and their words are read as the settings that they name.
"""

import configparser
import http.client
import json
import re
import shutil
import socket
import ssl
import subprocess
import sys
from contextlib import ExitStack
from typing import NamedTuple

import pytest
from django.conf import settings

from studio.children import GRACE_S
from studio.management.commands.verify import PRODUCTION
from tests.studio.before_nginx import EXAMPLE, HOST, certificate_in, nginx_before
from tests.studio.serving import (
    PATIENCE_S,
    ROOT,
    children_of,
    command_line,
    start,
    stop,
    wait_until,
    with_empty_database,
)

UNITS = {"reed-studio.service": "serve", "reed-studio-worker@.service": "work"}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("nginx")


@pytest.fixture(scope="module")
def certificate(folder):
    return certificate_in(folder)


class Ports(NamedTuple):
    plain: int
    secure: int
    surroundings: dict
    site: int


@pytest.fixture(scope="module")
def ports(folder, certificate, django_db_setup):
    """The web server alone in production, two processes, and nginx before it as the example says."""
    given = PRODUCTION | {"SITE_ADDRESS": f"https://{HOST}", "WEB_WORKERS": "2", "X_ACCEL": "/kept/"}
    surroundings = with_empty_database(folder / "data", **given)
    output = folder / "output"
    site = start(surroundings, output, "--no-worker")
    try:
        with nginx_before(folder, certificate, folder / "data", surroundings["PORT"]) as (
            proxy,
            plain,
            secure,
        ):
            wait_until(lambda: "The studio is at" in output.read_text(), site)
            assert proxy.poll() is None, (folder / "error.log").read_text()
            yield Ports(plain, secure, surroundings, site.pid)
    finally:
        stop(site)


class Browser(http.client.HTTPSConnection):
    """Speaks TLS with whoever has the certificate of the name, though it is asked at this machine."""

    def connect(self):
        http.client.HTTPConnection.connect(self)
        self.sock = self._context.wrap_socket(self.sock, server_hostname=HOST)


@pytest.fixture
def ask(ports, certificate):
    trusted = ssl.create_default_context(cafile=str(certificate[0]))

    def asked(path, method="GET", body=None, **headers):
        browser = Browser("127.0.0.1", ports.secure, context=trusted, timeout=PATIENCE_S)
        try:
            browser.request(method, path, body, {"Host": HOST, **headers})
            answer = browser.getresponse()
            return answer.status, answer.headers, answer.read()
        finally:
            browser.close()

    return asked


def test_the_page_of_signing_in_comes_through_tls_and_binds_to_it(ask):
    status, headers, page = ask("/account/login/")
    assert (status, b"csrfmiddlewaretoken" in page) == (200, True)
    assert "max-age=31536000" in headers["Strict-Transport-Security"]
    assert "secure" in headers["Set-Cookie"].lower()
    assert re.fullmatch(r"[0-9a-f]{32}", headers["X-Request-ID"])  # nginx has given it


def test_a_static_file_comes_under_its_hashed_name_and_is_kept(ask):
    page = ask("/account/login/")[2].decode()
    path = re.search(r'href="(/static/css/base\.[0-9a-f]{12}\.css)"', page).group(1)
    status, headers, sheet = ask(path)
    assert (status, b"--paper" in sheet) == (200, True)
    assert "immutable" in headers["Cache-Control"]


def test_plain_http_is_led_to_https(ports):
    browser = http.client.HTTPConnection("127.0.0.1", ports.plain, timeout=PATIENCE_S)
    browser.request("GET", "/account/login/", headers={"Host": HOST})
    answer = browser.getresponse()
    assert (answer.status, answer.headers["Location"]) == (301, f"https://{HOST}/account/login/")
    browser.close()


def test_more_than_the_limit_is_refused_by_nginx_before_it_is_sent(ask):
    status, headers, _page = ask("/account/login/", "POST", None, **{"Content-Length": str(27 * 2**20 + 1)})
    assert (status, headers["Server"]) == (413, "nginx")


def test_less_than_the_limit_reaches_the_site_which_has_limits_of_its_own(ask):
    # so little that it is on its way whole before the site, which reads none of it, has answered
    status, _headers, said = ask("/account/login/", "POST", b"x" * (64 * 2**10 + 1))
    assert (status, b"Sign in, then send it again." in said) == (403, True)


@pytest.fixture
def slow(ports, certificate):
    """Far more than the site has threads, each with a form of which only the beginning has come."""
    trusted = ssl.create_default_context(cafile=str(certificate[0]))
    kind = "Content-Type: application/x-www-form-urlencoded\r\nContent-Length: 60000"
    begun = f"POST /account/login/ HTTP/1.1\r\nHost: {HOST}\r\n{kind}\r\n\r\nlogin=".encode()
    with ExitStack() as open_still:
        found = []
        for _one in range(24):
            plain = open_still.enter_context(socket.create_connection(("127.0.0.1", ports[1])))
            found.append(open_still.enter_context(trusted.wrap_socket(plain, server_hostname=HOST)))
            found[-1].sendall(begun)
        yield found


def test_who_sends_slowly_keeps_nobody_waiting(ask, slow):
    assert ask("/account/login/")[0] == 200
    for one in slow:  # they are still at it: none was answered or closed to make room
        one.setblocking(False)
        with pytest.raises(ssl.SSLWantReadError):
            one.recv(1)


def test_what_a_client_says_of_its_scheme_is_not_believed(ask):
    status, _headers, _page = ask("/account/login/", **{"X-Forwarded-Proto": "http"})
    assert status == 200  # believed, it would be led to https for ever


# two students of different studios, a photo and a recording of the first
KEPT = """
import json
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from tests import factories as make

def session(member):
    store = SessionStore()
    store[SESSION_KEY] = str(member.person.pk)
    store[BACKEND_SESSION_KEY] = "studio.accounts.UserNameOrOwnEmail"
    store[HASH_SESSION_KEY] = member.person.get_session_auth_hash()
    store.save()
    return store.session_key

owner, stranger = make.student(), make.student()
reed = make.ReedFactory(owner=owner)
photo, take = make.ready_photo(reed), make.ready_take(reed)
print(json.dumps({
    "owner": session(owner), "stranger": session(stranger),
    "photo": owner.to("reeds:photo", photo.pk, "screen"), "photo_file": photo.screen.name,
    "take": owner.to("reeds:take_sound", take.pk), "take_file": take.file.name,
}))
"""


@pytest.fixture(scope="module")
def kept(ports):
    command = [sys.executable, "manage.py", "shell", "--no-imports", "-c", KEPT]
    made = subprocess.run(  # noqa: S603
        command, cwd=ROOT, env=ports.surroundings, capture_output=True, text=True, check=True
    )
    return json.loads(made.stdout.splitlines()[-1])


def test_a_file_that_was_let_through_is_sent_by_nginx(ask, kept, folder):
    mine = {"Cookie": f"__Host-sessionid={kept['owner']}"}
    data = (folder / "data" / "files" / kept["photo_file"]).read_bytes()
    status, headers, sent = ask(kept["photo"], **mine)
    assert (status, sent) == (200, data)
    assert kept["photo_file"] not in headers["ETag"]  # nginx gives one of its own
    assert "X-Accel-Redirect" not in headers
    assert headers["Content-Type"] == "image/jpeg"
    assert "private" in headers["Cache-Control"]
    assert headers["X-Content-Type-Options"] == "nosniff"
    sound = (folder / "data" / "files" / kept["take_file"]).read_bytes()
    status, headers, part = ask(kept["take"], Range="bytes=4-9", **mine)
    assert (status, part) == (206, sound[4:10])
    assert headers["Content-Range"] == f"bytes 4-9/{len(sound)}"


def test_a_file_is_sent_to_nobody_else_and_has_no_other_way(ask, kept):
    data = {"Cookie": f"__Host-sessionid={kept['stranger']}"}
    for name in ("photo", "take"):
        assert ask(kept[name], **data)[0] == 404
        assert ask(kept[name])[0] == 302  # to the page of signing in
        for path in (f"/kept/{kept[f'{name}_file']}", f"/kept//{kept[f'{name}_file']}"):
            for way in ("", "GET"):
                status, _headers, said = ask(path, way or "HEAD", Cookie=f"__Host-sessionid={kept['owner']}")
                assert status == 404
                assert b"JFIF" not in said


def test_whoever_watches_from_this_machine_is_answered(ask):
    assert ask("/healthz")[0] == 200
    assert ask("/readyz")[0] in (200, 503)


def test_two_web_processes_answer_and_no_worker_runs(ports):
    """Where workers are machines of their own; all that this module asks is answered so."""
    lines = [command_line(child) for child in children_of(ports.site)]
    assert sum("granian" in line for line in lines) >= 3  # the server and its two processes
    assert not [line for line in lines if "manage.py work" in line]


@pytest.mark.parametrize(("name", "command"), UNITS.items())
def test_a_unit_starts_what_there_is_with_settings_that_there_are(name, command):
    unit = configparser.ConfigParser(strict=False, interpolation=None)
    unit.optionxform = str
    unit.read_string((EXAMPLE.parent / name).read_text())
    service = unit["Service"]
    assert service["ExecStart"].endswith(f".venv/bin/python manage.py {command}")
    assert service["ExecStart"].startswith(service["WorkingDirectory"])
    name, folder = service["Environment"].split("=")
    assert name in settings.ENVIRONMENT
    assert folder == f"/var/lib/{service['StateDirectory']}"  # the one place that may be written
    assert float(service["TimeoutStopSec"]) > GRACE_S


@pytest.mark.parametrize("name", UNITS)
def test_systemd_knows_every_word_of_a_unit(name, tmp_path):
    """Where we do not lie at the place that it names, only the program is another."""
    found = shutil.which("systemd-analyze")
    assert found, "systemd-analyze is missing: install 'systemd'; manage.py verify does where it may"
    unit = (EXAMPLE.parent / name).read_text()
    tried = tmp_path / name
    for text, is_known in ((unit, True), (unit.replace("KillMode=", "KillMood="), False)):
        tried.write_text(re.sub(r"^ExecStart=\S+", f"ExecStart={sys.executable}", text, flags=re.MULTILINE))
        said = subprocess.run([found, "verify", str(tried)], capture_output=True, text=True, check=False)  # noqa: S603
        assert ((said.returncode, said.stdout + said.stderr) == (0, "")) is is_known, said
