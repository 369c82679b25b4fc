"""The site under a name with a port; a name that is not ours."""

from __future__ import annotations

import logging
import re

import pytest
from django.core import mail
from django.test import Client

from studio.checks import settings_agree
from studio.environment import host_of
from tests import factories as make
from tests.studio.second_steps import PASSWORD, with_password

pytestmark = pytest.mark.usefixtures("worker_at_once")

SITE = "http://reeds.example.org:8443"
HOST = {"host": "reeds.example.org:8443"}


@pytest.fixture
def with_port(settings):
    settings.SITE_ADDRESS = SITE
    settings.ALLOWED_HOSTS = ["localhost", host_of(SITE)]
    settings.CSRF_TRUSTED_ORIGINS = [SITE]


@pytest.mark.parametrize(
    ("address", "host"),
    [
        (SITE, "reeds.example.org"),
        ("https://Reeds.example.org", "reeds.example.org"),
        ("http://[2001:db8::1]:8000", "[2001:db8::1]"),
        ("http://127.0.0.1:8000/", "127.0.0.1"),
        ("nonsense", ""),
    ],
)
def test_the_host_of_an_address_stands_there_as_browsers_send_it(address, host):
    assert host_of(address) == host


@pytest.mark.parametrize("address", [SITE, "http://[2001:db8::1]:8000"])
def test_a_site_whose_name_has_a_port_is_served(client, db, settings, address):
    settings.SITE_ADDRESS, settings.ALLOWED_HOSTS = address, [host_of(address)]
    assert "studio.E001" not in {message.id for message in settings_agree()}
    assert client.get("/account/login/", headers={"host": address.partition("//")[2]}).status_code == 200


def test_a_form_of_the_site_is_taken_and_one_of_another_port_is_not(with_port, student):
    for origin, led in (
        (SITE, 302),
        ("http://reeds.example.org:9000", 403),
        ("http://reeds.example.org", 403),
    ):
        client = Client(enforce_csrf_checks=True, headers=HOST)
        token = re.search(
            r'csrfmiddlewaretoken" value="(\w+)"', client.get("/account/login/").content.decode()
        )
        given = {"login": with_password(student).person.username, "password": PASSWORD}
        given["csrfmiddlewaretoken"] = token.group(1)
        assert client.post("/account/login/", given, headers={"origin": origin}).status_code == led


def test_links_have_the_port_on_pages_and_in_mails(
    with_port, teacher, student, as_member, django_capture_on_commit_callbacks
):
    invitation = make.InvitationFactory(invited_by=teacher, email="new@example.org")
    client = as_member(teacher)
    page = client.get(teacher.to("invitation", invitation.pk), headers=HOST).content.decode()
    assert f"{SITE}/join/" in page
    with django_capture_on_commit_callbacks(execute=True):
        client.post(teacher.to("send_invitation", invitation.pk), headers=HOST)
    client.post("/account/password/reset/", {"email": student.person.email}, headers=HOST)
    joining, reset = (letter.body for letter in mail.outbox)
    link = re.search(re.escape(SITE) + r"(/join/\S+)", joining)
    assert link, joining
    assert f"Join {teacher.studio}" in Client().get(link[1], headers=HOST).content.decode()
    assert f"{SITE}/account/password/reset/key/" in reset


def test_a_reset_leads_to_the_site_whatever_name_of_ours_was_asked(with_port, student, client):
    client.post("/account/password/reset/", {"email": student.person.email}, headers={"host": "localhost"})
    assert f"{SITE}/account/password/reset/key/" in mail.outbox[0].body
    assert "localhost" not in mail.outbox[0].subject + mail.outbox[0].body


FOREIGN = [
    "elsewhere.example",
    "reeds.example.org.elsewhere.example",
    "a b",
    "x" * 5000,
    "[::1",
    "name:99999999",
]


@pytest.mark.django_db
@pytest.mark.parametrize("host", [*FOREIGN, "elsewhere.example\u00e9", "@reeds.example.org", ""])
def test_a_name_that_is_not_ours_answers_400_and_is_a_line_in_the_log(with_port, client, caplog, host):
    for path in ("/", "/account/login/", "/no/such/page"):
        answer = client.get(path, headers={"host": host})
        assert answer.status_code == 400
        assert "elsewhere" not in answer.content.decode()
    (console,) = (one for one in logging.getLogger().handlers if one.get_name() == "console")
    lines = [console.format(record) for record in caplog.records if console.filter(record)]
    assert len(lines) == 3
    for line in lines:
        assert "Invalid HTTP_HOST header" in line
        assert "\n" not in line


@pytest.mark.parametrize(
    "to", ["https://elsewhere.example/", "//elsewhere.example", "\\\\elsewhere.example", "javascript:1"]
)
def test_signing_in_leads_to_no_other_site(student, to):
    client = Client()
    given = {"login": with_password(student).person.username, "password": PASSWORD, "next": to}
    assert client.post("/account/login/", given).url == "/"
    assert client.post("/account/logout/", {"next": to}).url == "/account/login/"
