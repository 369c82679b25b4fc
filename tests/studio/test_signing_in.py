"""Signing in: by user name always, by e-mail while one person alone has it."""

from __future__ import annotations

import re

import pytest
from django.core import mail, signing
from django.core.cache.backends.db import DatabaseCache
from django.core.exceptions import ImproperlyConfigured
from django.core.management import call_command
from django.test import Client
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from studio import settings as settings_module
from studio.environment import Environment
from studio.models import Person
from studio.worker import PAUSES, look_after_failed
from tests import factories as make

pytestmark = pytest.mark.usefixtures("worker_at_once")

PASSWORD = "cane and thread and wax"


@pytest.fixture
def person(db):
    person = make.PersonFactory(username="mira", email="family@example.org")
    person.set_password(PASSWORD)
    person.save()
    return person


def sign_in(client, login, password=PASSWORD):
    return client.post("/account/login/", {"login": login, "password": password})


def who(client):
    return client.session.get("_auth_user_id")


@pytest.mark.parametrize("login", ["mira", "Mira", "family@example.org", "Family@Example.org"])
def test_user_name_and_own_email_sign_in_whatever_the_case(client, person, login):
    assert sign_in(client, login).status_code == 302
    assert who(client) == str(person.pk)


def test_whoever_signs_in_stays_signed_in_for_the_term(client, person):
    sign_in(client, "mira")
    assert client.session.get_expiry_age() >= 150 * 24 * 3600
    assert not client.session.get_expire_at_browser_close()


def test_wrong_password_is_told_and_the_name_stays(client, person):
    page = sign_in(client, "mira", "something else").content.decode()
    assert "do not belong together" in page
    assert 'value="mira"' in page
    assert who(client) is None


def test_shared_email_signs_nobody_in_but_each_user_name_does(client, person):
    sibling = make.PersonFactory(username="tove", email="family@example.org")
    sibling.set_password(PASSWORD)
    sibling.save()
    assert "your user name" in sign_in(client, "family@example.org").content.decode()
    assert who(client) is None
    sign_in(client, "tove")
    assert who(client) == str(sibling.pk)


def test_siblings_with_one_email_each_get_a_reset_link_with_their_name(client, person):
    make.PersonFactory(username="tove", email="family@example.org")
    client.post("/account/password/reset/", {"email": "family@example.org"})
    assert len(mail.outbox) == 2
    named = {name for letter in mail.outbox for name in re.findall("mira|tove", letter.body)}
    assert named == {"mira", "tove"}


def test_nobody_signs_up_without_an_invitation(client, db):
    client.post("/account/signup/", {"username": "newone", "password1": PASSWORD, "email": ""})
    assert who(client) is None
    assert not Person.objects.exists()


def test_pages_of_several_emails_stay_shut(client, person):
    client.force_login(person)
    assert client.get("/account/email/").url == "/"


def test_password_is_changed_with_the_old_one(client, person):
    client.force_login(person)
    new = {"password1": "another very long one", "password2": "another very long one"}
    refused = client.post("/account/password/change/", {"oldpassword": "wrong", **new})
    assert refused.status_code == 200
    assert client.post("/account/password/change/", {"oldpassword": PASSWORD, **new}).url == "/"
    person.refresh_from_db()
    assert person.check_password("another very long one")


def guess(client, times=6, **seen):
    for turn in range(times):
        answer = client.post("/account/login/", {"login": "mira", "password": f"guess {turn}"}, **seen)
    return answer.content.decode()


def test_strangers_who_guess_are_stopped_and_do_not_lock_out_who_signed_in_here_before(person):
    own, strange = Client(), Client()
    sign_in(own, "mira")
    del own.cookies["sessionid"]  # signed out; the device stays known
    assert "Too many" in guess(strange)
    assert (
        "Too many" in sign_in(Client(REMOTE_ADDR="203.0.113.9"), "mira").content.decode()
    )  # it may be anybody
    assert sign_in(own, "mira").status_code == 302
    assert who(own) == str(person.pk)


def test_a_known_device_may_not_guess_for_ever_either(person):
    own = Client()
    sign_in(own, "mira")
    del own.cookies["sessionid"]  # signed out; the device stays known
    assert "Too many" in guess(own)
    assert "Too many" in sign_in(own, "mira").content.decode()
    assert sign_in(Client(), "mira").status_code == 302  # counted apart: the account itself is open


def test_the_cookie_of_one_person_knows_no_other(person):
    other = make.PersonFactory(username="tove")
    own = Client()
    sign_in(own, "mira")
    del own.cookies["sessionid"]
    own.cookies["device"] = signing.dumps(other.pk, salt="studio.device")
    guess(Client(REMOTE_ADDR="203.0.113.7"))
    assert "Too many" in sign_in(own, "mira").content.decode()
    own.cookies["device"] = "forged"
    assert "Too many" in sign_in(own, "mira").content.decode()


def test_behind_a_proxy_each_address_is_counted_by_itself(person, settings):
    settings.ALLAUTH_TRUSTED_PROXY_COUNT = 1
    names = (f"nobody{n}" for n in range(100))

    def try_from(client, forwarded, times):
        for _turn in range(times):
            answer = client.post(
                "/account/login/", {"login": next(names), "password": "x"}, HTTP_X_FORWARDED_FOR=forwarded
            )
        return answer.content.decode()

    # what a client itself claims stands first and is not believed
    assert "Too many" in try_from(Client(), "198.51.100.1, 203.0.113.1", 11)
    assert "Too many" in try_from(Client(), "198.51.100.2, 203.0.113.1", 1)
    assert "Too many" not in try_from(Client(), "198.51.100.1, 203.0.113.2", 1)


@pytest.mark.parametrize(
    ("given", "count"), [("", 0), ("0", 0), ("1", 1), ("2", 2), ("on", 1), ("True", 1), ("no", 0)]
)
def test_how_many_proxies_is_read_from_the_environment(monkeypatch, given, count):
    monkeypatch.setenv("BEHIND_PROXY", given)
    assert Environment().count("BEHIND_PROXY") == count


def test_a_count_of_proxies_that_is_none_is_told(monkeypatch):
    monkeypatch.setenv("BEHIND_PROXY", "many")
    with pytest.raises(ImproperlyConfigured, match="BEHIND_PROXY is set to 'many'"):
        Environment().count("BEHIND_PROXY")


def work():
    call_command("work", batch=True)


@pytest.mark.django_db(transaction=True)
def test_a_reset_is_answered_while_the_mail_server_is_down_and_comes_later(
    client, person, worker_later, monkeypatch
):
    def down(*_given, **_more):
        raise ConnectionRefusedError

    with monkeypatch.context() as mail_server:
        mail_server.setattr("django.core.mail.backends.locmem.EmailBackend.send_messages", down)
        assert client.post("/account/password/reset/", {"email": person.email}).status_code == 302
        work()
    assert mail.outbox == []
    row = DBTaskResult.objects.get()
    assert row.status == "FAILED"
    assert "password/reset" not in str(row.args_kwargs) + row.traceback
    assert look_after_failed() == 0
    row.refresh_from_db()
    assert row.run_after - row.enqueued_at > PAUSES[0] / 2
    DBTaskResult.objects.update(run_after=timezone.now())
    work()
    assert "/account/password/reset/key/" in mail.outbox[0].body
    work()
    assert len(mail.outbox) == 1


def test_a_password_hashed_as_of_old_is_hashed_anew(client, person, settings):
    """Whatever replaces today's way of hashing, each password moves to it as its person signs in."""
    settings.PASSWORD_HASHERS = [
        "django.contrib.auth.hashers.PBKDF2PasswordHasher",
        "django.contrib.auth.hashers.MD5PasswordHasher",
    ]
    assert person.password.startswith("md5$")
    assert sign_in(client, "mira").status_code == 302
    person.refresh_from_db()
    way, rounds = person.password.split("$")[:2]
    assert way == "pbkdf2_sha256"
    assert int(rounds) >= 600_000


@pytest.mark.parametrize(
    "other", [{}, {"login": "MIRA"}, {"login": "family@example.org"}, {"headers": {"host": "localhost:1234"}}]
)
def test_who_guesses_is_stopped_however_the_person_and_the_site_are_named(person, other):
    guess(Client())
    stranger = Client(REMOTE_ADDR="203.0.113.7", headers=other.get("headers", {}))
    assert "Too many" in sign_in(stranger, other.get("login", "mira")).content.decode()
    assert who(stranger) is None


def test_many_entries_push_no_count_of_sign_ins_out(settings, db):
    """As on the site, where the cache is a table: Django's own limit would drop a third beyond 300."""
    call_command("createcachetable", "cache", verbosity=0)
    table = {"BACKEND": "django.core.cache.backends.db.DatabaseCache", "LOCATION": "cache"}
    cache = DatabaseCache("cache", table | settings_module.CACHES["default"])
    cache.set("first", 1, 300)
    for number in range(600):
        cache.set(f"other-{number}", 1, 300)
    assert cache.get("first") == 1
    assert all(cache.get(f"other-{number}") for number in range(600))
