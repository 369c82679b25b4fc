"""The examples for a server: a real nginx with a throw-away certificate before the site in production."""

import configparser
import http.client
import os
import re
import shutil
import signal
import socket
import ssl
import subprocess
from contextlib import ExitStack

import pytest
from django.conf import settings

from studio.children import GRACE_S
from studio.management.commands.verify import PRODUCTION
from tests.studio.serving import (
    PATIENCE_S,
    ROOT,
    free_port,
    start,
    stop,
    wait_until,
    with_empty_database,
)

HOST = "reeds.example.org"
EXAMPLE = ROOT / "studio" / "deploy" / "nginx.conf"
MAIN = """
pid {folder}/nginx.pid; error_log {folder}/error.log; daemon off; {user}
events {{}}
http {{
    client_body_temp_path {folder}/body; proxy_temp_path {folder}/proxy;
    fastcgi_temp_path {folder}/f; uwsgi_temp_path {folder}/u; scgi_temp_path {folder}/s;
    {site}
}}
"""


def nginx_of():
    found = shutil.which("nginx", path=f"{os.environ['PATH']}:/usr/sbin")
    assert found, "nginx is missing: install the package 'nginx-light'; manage.py verify does where it may"
    return found


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("nginx")


@pytest.fixture(scope="module")
def certificate(folder):
    names = folder / "cert.pem", folder / "key.pem"
    options = ("-x509", "-newkey", "rsa:2048", "-nodes", "-days", "1", "-subj", f"/CN={HOST}")
    files = ("-addext", f"subjectAltName=DNS:{HOST}", "-out", str(names[0]), "-keyout", str(names[1]))
    subprocess.run(["openssl", "req", *options, *files], check=True, capture_output=True)  # noqa: S603, S607
    return names


@pytest.fixture(scope="module")
def ports(folder, certificate, django_db_setup):
    """The site in production, and nginx before it as the example says; its ports for http and https."""
    nginx = nginx_of()
    given = PRODUCTION | {"SITE_ADDRESS": f"https://{HOST}", "WEB_WORKERS": "1"}
    surroundings = with_empty_database(folder / "data", **given)
    plain, secure = free_port(), free_port()
    text = EXAMPLE.read_text()
    changes = {
        "listen 80;": f"listen 127.0.0.1:{plain};",
        "listen 443 ssl;": f"listen 127.0.0.1:{secure} ssl;",
        "/etc/ssl/reeds/fullchain.pem": str(certificate[0]),
        "/etc/ssl/reeds/privkey.pem": str(certificate[1]),
        "127.0.0.1:8000": f"127.0.0.1:{surroundings['PORT']}",
    }
    for was, now in changes.items():
        assert was in text
        text = text.replace(was, now)
    conf = folder / "nginx.conf"
    user = "user root;" if os.geteuid() == 0 else ""
    conf.write_text(MAIN.format(folder=folder, site=text, user=user))
    output = folder / "output"
    site = start(surroundings, output)
    proxy = subprocess.Popen([nginx, "-c", str(conf), "-e", str(folder / "error.log")])  # noqa: S603
    try:
        wait_until(lambda: "The studio is at" in output.read_text(), site)
        assert proxy.poll() is None, (folder / "error.log").read_text()
        yield plain, secure
    finally:
        proxy.send_signal(signal.SIGTERM)
        proxy.wait(PATIENCE_S)
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
        browser = Browser("127.0.0.1", ports[1], context=trusted, timeout=PATIENCE_S)
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
    browser = http.client.HTTPConnection("127.0.0.1", ports[0], timeout=PATIENCE_S)
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


def test_whoever_watches_from_this_machine_is_answered(ask):
    assert ask("/healthz")[0] == 200
    assert ask("/readyz")[0] in (200, 503)


def test_the_unit_starts_what_there_is_with_settings_that_there_are():
    unit = configparser.ConfigParser(strict=False, interpolation=None)
    unit.optionxform = str
    unit.read_string((EXAMPLE.parent / "reed-studio.service").read_text())
    service = unit["Service"]
    assert service["ExecStart"].endswith(".venv/bin/python manage.py serve")
    assert service["ExecStart"].startswith(service["WorkingDirectory"])
    name, folder = service["Environment"].split("=")
    assert name in settings.ENVIRONMENT
    assert folder == f"/var/lib/{service['StateDirectory']}"  # the one place that may be written
    assert float(service["TimeoutStopSec"]) > GRACE_S
