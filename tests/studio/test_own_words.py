"""Every page of signing in and of passwords is ours: none shows a page or a word of the library behind it."""

import ast
import importlib
import re
from pathlib import Path

import pytest
from django.conf import settings
from django.core import mail
from django.test import Client
from django.urls import NoReverseMatch, reverse
from django.utils import translation

from tests.world import ADDRESSES

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("worker_at_once")]
ACCOUNT = [address for address in ADDRESSES if address.route.startswith("account/")]
# what stands in the address, where something does
GIVEN = {"uidb36": "1", "key": "set-password", "pk": 1}
THEIR_WORDS = (
    "Forgot your password?",
    "Current Password",
    "Remember Me",
    "Bad Token",
    "can’t be too similar",
)


def path_of(address):
    try:
        return reverse(address.name, kwargs={name: GIVEN[name] for name in address.arguments})
    except NoReverseMatch:
        return f"/{re.sub(r'[(].*', '', address.route).replace('^', '')}x/"


def from_elsewhere(answer):
    ours = str(settings.BASE_DIR / "templates")
    used = [str(one.origin.name) for one in answer.templates if one.origin]
    pages = [Path(name) for name in used if name.endswith(".html") and not name.startswith(ours)]
    return [name.name for name in pages if "django/forms" not in name.as_posix()]


def test_no_page_is_the_librarys(student):
    there = Client()
    there.force_login(student.person)
    seen, wrong = 0, {}
    for address in ACCOUNT:
        for client in (Client(), there):
            answer = client.get(path_of(address))
            if answer.status_code != 200 or "html" not in answer.headers["Content-Type"]:
                continue
            seen += 1
            text = answer.content.decode()
            found = from_elsewhere(answer) + [words for words in THEIR_WORDS if words in text]
            if found:
                wrong[f"{address.name} {path_of(address)}"] = found
    assert seen >= 12
    assert wrong == {}


def test_the_link_of_an_e_mail_leads_to_our_page_once(client, student):
    student.person.email = "mira@example.org"
    student.person.save()
    client.post("/account/password/reset/", {"email": "mira@example.org"})
    link = re.search(r"/account/password/reset/key/\S+", mail.outbox[-1].body).group()
    page = client.get(link, follow=True)
    assert "At least 8 characters; several words are good." in page.content.decode()
    assert from_elsewhere(page) == []
    new = {"password1": "wax and thread and cane", "password2": "wax and thread and cane"}
    path = page.redirect_chain[-1][0]
    refused = client.post(path, {**new, "password2": "another"})
    assert from_elsewhere(refused) == []
    done = client.post(path, new, follow=True)
    assert "The new password is kept" in done.content.decode()
    assert from_elsewhere(done) == []
    again = Client().get(link, follow=True).content.decode()
    assert "This link is closed" in again
    assert Client().login(username=student.person.username, password=new["password1"])


def test_a_changed_password_is_told_in_our_words(client, student):
    student.person.set_password("cane and thread and wax")
    student.person.save()
    client.force_login(student.person)
    new = {"password1": "wax and thread and cane", "password2": "wax and thread and cane"}
    given = {"oldpassword": "cane and thread and wax", **new}
    answer = client.post("/account/password/change/", given, follow=True)
    assert "The new password is kept." in answer.content.decode()


# pages of these have others of ours in their place
OWN_PAGES = ("django/views/csrf.py",)
LIBRARIES = (
    "allauth/account",
    "allauth/mfa",
    "allauth/core",
    "django/forms",
    "django/views",
    "django/contrib/auth",
)
FORMAL = re.compile(r"\b(?:Sie|Ihnen|Ihr(?:e[mnrs]?)?)\b")


def strings_of(library):
    """Return every text that stands in a library's modules, but for those whose page is ours."""
    package, _slash, inside = library.partition("/")
    for file in (Path(importlib.import_module(package).__file__).parent / inside).rglob("*.py"):
        if not file.as_posix().endswith(OWN_PAGES) and "/tests/" not in file.as_posix():
            for node in ast.walk(ast.parse(file.read_text())):
                if isinstance(node, ast.Constant) and isinstance(node.value, str) and " " in node.value:
                    yield node.value


def test_no_sentence_of_a_library_addresses_one_formally():
    with translation.override("de"):
        said = {one: translation.gettext(one) for library in LIBRARIES for one in strings_of(library)}
    assert len([one for one, german in said.items() if one != german]) > 100
    assert {one: german for one, german in said.items() if FORMAL.search(german)} == {}
