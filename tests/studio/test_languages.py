"""In which language a page is: the browser's, a cookie's, one's own; what goes out is in the receiver's."""

import json
import re

import pytest
from django.conf import settings
from django.test import Client
from django.utils import translation

from studio import offline
from studio.models import Person
from studio.reading import calls_notes_german, notes_called, written_for
from tests import factories as make

pytestmark = pytest.mark.django_db
COOKIE = settings.LANGUAGE_COOKIE_NAME


def language_of(answer):
    found = re.search(r'<html lang="(\w+)"', answer.content.decode())
    assert answer["Content-Language"] == found[1]
    return found[1]


def choose(client, member, language, names=""):
    told = {"reading-language": language, "reading-note_names": names}
    return client.post(member.to("reading"), told)


@pytest.mark.parametrize(
    ("asked", "shown"),
    [("de", "de"), ("de-AT,de;q=0.9,en;q=0.5", "de"), ("en-GB", "en"), ("nl", "en"), ("", "en")],
)
def test_a_page_is_in_the_browsers_language_else_in_english(asked, shown, client):
    answer = client.get("/account/login/", headers={"Accept-Language": asked})
    assert language_of(answer) == shown
    assert "Accept-Language" in answer["Vary"]


def test_a_link_of_the_sign_in_page_is_stronger_than_the_browser_and_leads_back(client):
    here = "/account/login/?next=/studio/1/"
    page = client.get(here, headers={"Accept-Language": "en"}).content.decode()
    assert 'action="/language/"' in page
    assert "Deutsch" in page
    answer = client.post("/language/", {"language": "de", "next": here})
    assert answer["Location"] == here
    assert language_of(client.get(here, headers={"Accept-Language": "en"})) == "de"


def test_a_language_we_have_not_is_the_browsers_and_no_other_site_is_led_to(client):
    client.post("/language/", {"language": "de"})
    answer = client.post("/language/", {"language": "tlh", "next": "https://elsewhere.example/"})
    assert answer["Location"] == "/"
    assert client.cookies[COOKIE].value == ""
    assert language_of(client.get("/language/")) == "en"


def test_one_may_be_without_a_cookie_and_is_offered_all_by_their_own_names(client):
    page = client.get("/language/").content.decode()
    for code, name in settings.LANGUAGES:
        assert re.search(rf'value="{code}" lang="{code}"[^>]*>{name}</button>', page)


@pytest.mark.parametrize("who", ["student", "teacher", "guardian"])
def test_ones_own_choice_is_stronger_than_any_browser_and_goes_along(who, request, as_member, student):
    member = (
        make.guardian(make.student(studio=student.studio))
        if who == "guardian"
        else request.getfixturevalue(who)
    )
    assert choose(as_member(member), member, "de").status_code == 302
    elsewhere = Client(headers={"Accept-Language": "en"})
    elsewhere.force_login(member.person)
    answer = elsewhere.get(member.to("me"))
    assert language_of(answer) == "de"
    assert answer.cookies[COOKIE].value == "de"
    assert COOKIE not in elsewhere.get(member.to("me")).cookies
    elsewhere.logout()
    elsewhere.cookies[COOKIE] = "de"
    assert language_of(elsewhere.get("/account/login/")) == "de"


def test_what_is_kept_is_said_in_the_language_just_chosen_and_can_be_given_back(as_member, student):
    client = as_member(student)
    choose(client, student, "de")
    assert language_of(client.get(student.to("me"))) == "de"
    answer = choose(client, student, "")
    assert answer.cookies[COOKIE].value == ""
    assert language_of(client.get(student.to("me"))) == "en"


def test_a_language_that_is_not_offered_is_refused_with_a_sentence(as_member, student):
    answer = choose(as_member(student), student, "tlh")
    assert answer.status_code == 422
    assert "tlh" in answer.content.decode()
    student.person.refresh_from_db()
    assert student.person.language == ""


def test_the_language_of_the_last_sign_in_is_that_of_letters_until_one_chooses(client, student):
    person = student.person
    assert person.reads == settings.LANGUAGE_CODE
    with translation.override("de"):
        client.force_login(person)
    person = Person.objects.get(pk=person.pk)
    assert person.reads == "de"
    person.language = "en"
    assert person.reads == "en"


def test_what_is_written_for_somebody_is_in_their_language_and_with_their_notes(student):
    person = student.person
    person.language, person.note_names = "de", "english"
    with written_for(person):
        assert translation.get_language() == "de"
        assert not calls_notes_german()
    assert translation.get_language() == "en"


@pytest.mark.parametrize(
    ("language", "names", "german"),
    [("en", "", False), ("de", "", True), ("en", "german", True), ("de", "english", False)],
)
def test_notes_are_called_as_one_chose_else_as_the_language_has_them(language, names, german):
    with translation.override(language), notes_called(names):
        assert calls_notes_german() is german


def test_pages_kept_on_a_phone_are_anothers_as_soon_as_the_language_is(as_member, student):
    client = as_member(student)
    before = client.get(student.to("me"))[offline.MADE_FOR]
    assert client.get(student.to("me"))[offline.MADE_FOR] == before
    choose(client, student, "de")
    after = client.get(student.to("me"))
    assert after[offline.MADE_FOR] != before
    assert f'data-made-for="{after[offline.MADE_FOR]}"' in after.content.decode()


def test_the_app_and_its_worker_are_in_the_language_of_the_page_that_names_them(as_member, student):
    client = as_member(student)
    choose(client, student, "de")
    page = client.get(student.to("me")).content.decode()
    manifest = re.search(r'rel="manifest" href="([^"]+)"', page)[1]
    worker = re.search(r'data-worker="([^"]+)"', page)[1]
    nobody = Client(headers={"Accept-Language": "en"})
    assert nobody.get(manifest).json()["lang"] == "de"
    assert '"language": "de"' in nobody.get(worker).content.decode()
    assert nobody.get("/manifest.webmanifest?language=tlh").json()["lang"] == "en"
    told = re.search(r"begin\((\{.*\})\)", nobody.get(worker).content.decode())[1]
    kept = nobody.get(json.loads(told)["offline"], headers={"Accept-Language": json.loads(told)["language"]})
    assert language_of(kept) == "de"
