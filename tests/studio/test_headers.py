"""What every page says to browsers and caches besides itself."""

from collections import defaultdict

import pytest
from django.test import Client

from tests.world import KNOWN, World, may_open

pytestmark = pytest.mark.django_db


def test_no_page_may_be_kept_by_a_cache_on_the_way_or_ask_for_more_than_camera_and_microphone():
    world = World()
    clients = defaultdict(Client)
    seen = 0
    for address in KNOWN:
        member = may_open(address.page, world)[-1]
        if member not in clients:
            clients[member].force_login(member.person)
        answer = clients[member].get(address.of(world))
        if answer.streaming:
            list(answer.streaming_content)
        kept = answer.headers["Cache-Control"]
        assert "private" in kept or "no-store" in kept, (address.name, kept)
        assert "public" not in kept, (address.name, kept)
        policy = answer.headers["Permissions-Policy"]
        assert "camera=(self), microphone=(self), geolocation=()" in policy
        seen += 1
    assert seen > 100


def test_the_page_of_signing_in_too(client):
    answer = client.get("/account/login/")
    assert "private" in answer.headers["Cache-Control"]
    assert answer.headers["Referrer-Policy"] == "same-origin"


def test_what_everybody_may_keep_is_kept(client):
    answer = client.get("/static/css/base.css")
    list(answer.streaming_content)
    assert "private" not in answer.headers.get("Cache-Control", "")


class Unread:
    """A body of which not one byte may be read."""

    def read(self, *_size):
        raise AssertionError("it was read")

    readline = read


def send(client, length, path="/account/login/"):
    kind = "application/x-www-form-urlencoded"
    return client.generic("POST", path, b"", kind, **{"CONTENT_LENGTH": str(length), "wsgi.input": Unread()})


@pytest.mark.parametrize("length", [27 * 1024 * 1024 + 1, 100_000_000, "9" * 30, "many"])
def test_a_stranger_who_sends_much_is_refused_before_it_is_read(client, length):
    answer = send(client, length)
    assert answer.status_code == 413
    assert "25 MB" in answer.content.decode()


@pytest.mark.parametrize("length", [64 * 1024 + 1, 26 * 1024 * 1024])
def test_a_stranger_who_sends_what_members_send_is_told_to_sign_in_before_it_is_read(client, length):
    """403: a phone that was signed out meanwhile keeps the photo, and sends it again."""
    answer = send(client, length)
    assert answer.status_code == 403
    assert "Sign in, then send it again." in answer.content.decode()


def test_who_signed_in_may_send_more_but_no_more_than_a_photo_of_25_mb(student, as_member):
    client = as_member(student)
    assert send(client, 27 * 1024 * 1024 + 1).status_code == 413
    assert send(client, 26 * 1024 * 1024, student.to("me")).status_code != 413


def test_what_may_be_shown_and_run_is_said_with_every_answer(client, student, as_member):
    """Also with files, refusals, and what is answered before any page is asked."""
    answers = [
        client.get("/account/login/"),
        client.get("/static/css/base.css"),
        client.get("/no/such/page/"),
        client.get("/", headers={"host": "elsewhere.example"}),
        send(client, 100_000_000),
        as_member(student).get(student.to("me")),
        client.get("/healthz"),
    ]
    assert [answer.status_code for answer in answers] == [200, 200, 404, 400, 413, 200, 200]
    for answer in answers:
        if answer.streaming:
            list(answer.streaming_content)
        policy = answer.headers["Content-Security-Policy"]
        for rule in ("default-src 'self'", "object-src 'none'", "base-uri 'none'", "frame-ancestors 'none'"):
            assert rule in policy
        assert answer.headers["X-Content-Type-Options"] == "nosniff"


def test_nobody_has_a_request_read_back(student, as_member):
    for path in ("/", "/account/login/", student.to("me")):
        answer = as_member(student).trace(path)
        assert (answer.status_code, answer.content) == (405, b"")


def test_signing_out_has_the_browser_forget_the_pages(student, as_member):
    client = as_member(student)
    assert "Clear-Site-Data" not in client.get("/account/logout/").headers
    assert client.post("/account/logout/").headers["Clear-Site-Data"] == '"cache"'


def test_no_other_site_may_read_an_answer(client, student, as_member):
    for answer in (
        client.get("/account/login/", headers={"origin": "https://elsewhere.example"}),
        as_member(student).get(student.to("me"), headers={"origin": "https://elsewhere.example"}),
    ):
        assert [name for name in answer.headers if name.lower().startswith("access-control")] == []


def test_every_text_says_its_letters(client, student, as_member):
    for answer in (
        client.get("/account/login/"),
        client.get("/no/such/page/"),
        as_member(student).get(student.to("me")),
    ):
        assert answer.headers["Content-Type"] == "text/html; charset=utf-8"
    for kind, path in (("text/css", "css/base.css"), ("text/javascript", "js/passkey.js")):
        answer = client.get(f"/static/{path}")
        list(answer.streaming_content)
        assert answer.headers["Content-Type"] == f'{kind}; charset="utf-8"'


def test_a_cookie_that_is_nobodys_session_lets_nobody_send_more(student, as_member):
    forged, ended = Client(), as_member(student)
    forged.cookies["sessionid"] = "a" * 32
    key = ended.cookies["sessionid"].value
    ended.post("/account/logout/")
    ended.cookies["sessionid"] = key
    for client in (forged, ended):
        assert send(client, 64 * 1024 + 1).status_code == 403
