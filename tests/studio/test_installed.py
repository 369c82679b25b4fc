"""The site as an app: manifest, icons, the worker at the root, and for whom each page says it was made."""

import io
import json
import re

import pytest
from django.db import OperationalError
from django.test import Client
from django.urls import reverse
from PIL import Image, ImageChops

from studio import shell
from studio.offline import KEEP, MADE_FOR, NOBODY
from studio.tokens import colours
from tests import factories as make
from tests.drawing_of_icons import ICONS, STATIC, drawn

pytestmark = pytest.mark.django_db


def manifest():
    return json.loads(Client().get("/manifest.webmanifest").content)


def test_the_manifest_has_what_a_phone_asks_of_an_app(client):
    answer = client.get("/manifest.webmanifest")
    assert answer["Content-Type"] == "application/manifest+json"
    told = answer.json()
    assert told["display"] == "standalone"
    assert told["start_url"] == told["scope"] == reverse("start")
    assert told["lang"] == "en"
    assert told["theme_color"] == colours()["cane"]
    assert {(one["sizes"], one["purpose"]) for one in told["icons"]} == {
        ("192x192", "any"),
        ("512x512", "any"),
        ("512x512", "maskable"),
    }


def test_every_icon_is_there_and_as_large_as_it_says(client):
    for icon in manifest()["icons"]:
        data = b"".join(client.get(icon["src"]).streaming_content)
        with Image.open(io.BytesIO(data)) as image:
            assert icon["sizes"] == f"{image.width}x{image.height}"


def test_icons_are_drawn_from_the_sites_own_picture():
    for name, how in ICONS.items():
        with Image.open(STATIC / "icons" / name) as kept:
            apart = ImageChops.difference(kept.convert("RGBA"), drawn(*how).convert("RGBA"))
        assert max(high for _low, high in apart.getextrema()) <= 8, (
            f"{name}: python -m tests.drawing_of_icons"
        )


def test_the_frame_of_a_page_has_the_colours_of_day_and_night(client):
    page = client.get("/account/login/").content.decode()
    found = dict(re.findall(r'theme-color" media="\(prefers-color-scheme: (\w+)\)" content="(#\w+)"', page))
    assert found == {"light": colours()["cane"], "dark": colours(by_night=True)["cane"]}
    assert found["light"] != found["dark"]


def test_it_begins_where_each_begins(as_member, student, teacher):
    guardian = make.guardian(student)
    begins = {
        student: "lessons:desk",
        teacher: "lessons:queue",
        guardian: "lessons:children",
    }
    for member, page in begins.items():
        answer = as_member(member).get(manifest()["start_url"], follow=True)
        assert answer.redirect_chain[-1][0] == member.to(page)


# --- the worker -----------------------------------------------------------------------------------


def test_the_worker_lies_at_the_root_and_is_never_kept_for_long(client):
    answer = client.get("/service-worker.js")
    assert answer.status_code == 200
    assert answer["Content-Type"].startswith("text/javascript")
    assert "no-cache" in answer["Cache-Control"]
    assert "worker-src 'self'" in answer["Content-Security-Policy"]
    assert "manifest-src 'self'" in answer["Content-Security-Policy"]


def test_it_is_the_same_for_everybody_and_knows_nobody(as_member, student, client):
    own = as_member(student).get("/service-worker.js")
    assert own.content == client.get("/service-worker.js").content
    assert not own.cookies


def test_another_file_of_ours_makes_another_worker(client, monkeypatch):
    before = client.get("/service-worker.js").content
    assert client.get("/service-worker.js").content == before
    there = list(shell._as_they_lie())
    assert len(there) > 100
    monkeypatch.setattr(shell, "_as_they_lie", lambda: iter([*there[:-1], there[-1] + "1"]))
    assert client.get("/service-worker.js").content != before


def test_hashed_names_are_the_version_where_there_are_any(monkeypatch):
    class Hashed:
        hashed_files = {"js/a.js": "js/a.1.js"}

    monkeypatch.setattr(shell, "staticfiles_storage", Hashed)
    assert shell.is_hashed()
    before = shell.version()
    monkeypatch.setattr(Hashed, "hashed_files", {"js/a.js": "js/a.2.js"})
    assert shell.version() != before


# --- whose it is ----------------------------------------------------------------------------------


@pytest.fixture
def sent(student):
    return make.sent_round(student, photos=1)


def pages_of(student, sent):
    return [
        student.to("lessons:desk"),
        student.to("lessons:send"),
        student.to("reeds:box"),
        student.to("reeds:reeds"),
        student.to("reeds:reed", sent.reed_id),
        student.to("lessons:draft", sent.reed_id),
        student.to("lessons:round", sent.pk),
        student.to("reeds:pattern", sent.reed.version.pattern_id),
    ]


def test_a_students_pages_are_kept_under_a_name_that_says_nothing(as_member, student, sent):
    client = as_member(student)
    names = set()
    for page in pages_of(student, sent):
        answer = client.get(page)
        assert answer[KEEP], page
        names.add(answer[MADE_FOR])
        assert f'data-made-for="{answer[MADE_FOR]}"' in answer.content.decode()
    (name,) = names
    assert name != NOBODY
    assert client.cookies["sessionid"].value not in name
    assert name not in {str(student.pk), str(student.person_id)}


def test_another_person_and_another_signing_in_have_another_name(as_member, student, other_student):
    names = {
        as_member(member).get(member.to("lessons:desk"))[MADE_FOR]
        for member in (student, student, other_student)
    }
    assert len(names) == 3


def test_pages_of_whoever_teaches_or_looks_are_not_kept(as_member, student, teacher, sent):
    assistant, guardian = make.assistant(studio=teacher.studio), make.guardian(student)
    for member in (teacher, assistant, guardian):
        client = as_member(member)
        for page in pages_of(student, sent):
            answer = client.get(page)
            assert KEEP not in answer, (member.role, page)
        assert "data-keeps" not in client.get(member.to("me")).content.decode()


def test_who_is_signed_out_gets_nothing_but_the_word_that_it_is_nobodys(client, student, sent):
    for page in pages_of(student, sent):
        answer = client.get(page)
        assert answer.status_code == 302
        assert answer[MADE_FOR] == NOBODY
        assert KEEP not in answer
    assert client.get("/account/login/")[MADE_FOR] == NOBODY
    assert client.get(student.to("lessons:to_keep")).status_code == 302


def test_the_page_for_no_line_is_the_same_for_everybody_and_clears_nobody(client):
    page = client.get("/offline/")
    assert page.status_code == 200
    assert "data-made-for" not in page.content.decode()


def test_a_page_about_a_broken_server_says_nothing_of_whose_phone_it_is(client, monkeypatch):
    def broken(*_given, **_more):
        raise OperationalError("database is locked")

    monkeypatch.setattr("studio.views.arrive.studios_of", broken)
    person = make.student().person
    client.force_login(person)
    answer = client.get("/")
    assert answer.status_code == 503
    assert MADE_FOR not in answer
    assert 'data-made-for="nobody"' not in answer.content.decode()
