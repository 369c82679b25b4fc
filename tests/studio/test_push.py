"""Notices go out sealed and signed, to push services outside alone; a device that went away is forgotten."""

import ipaddress
import socket
import threading
import time

import pytest
from django.contrib.sessions.models import Session

from studio import sessions
from studio.erasing import let_go_of_account
from studio.push import line, signing
from studio.push.actions import choose
from studio.push.forms import ToldForm
from studio.push.phones import LONGEST_ENDPOINT, MOST_PHONES, Phone
from studio.push.sending import NotTaken, send
from studio.told_by import TellBy
from tests import factories as make
from tests.studio.push_service import Browser, claims_of, running

PUBLIC = "https://push.example.org/send/abc"
INSIDE = (
    *("127.0.0.1", "10.0.0.1", "172.16.3.4", "192.168.1.1", "169.254.169.254", "100.64.0.1", "0.0.0.0"),  # noqa: S104
    *("224.0.0.1", "255.255.255.255", "::1", "::", "fe80::1", "fc00::1", "ff02::1", "::ffff:127.0.0.1"),
    *("::ffff:10.0.0.1", "64:ff9b::7f00:1", "2002:7f00:1::", "2001:0:4136:e378:8000:63bf:80ff:fffe"),
)
OUTSIDE = ("93.184.216.34", "2606:2800:220:1:248:1893:25c8:1946", "64:ff9b::5db8:d822")


@pytest.fixture
def service(tmp_path, monkeypatch, settings):
    with running(tmp_path, monkeypatch, settings) as service:
        yield service


@pytest.fixture
def phone(service, student):
    browser = service.browser()
    return browser, choose(student.person, TellBy.PHONE, browser.gives)


# --- sealed and signed -----------------------------------------------------------------------------


def test_a_notice_comes_sealed_to_the_one_browser_and_signed_for_its_service(service, phone, settings):
    browser, kept = phone
    settings.SITE_ADDRESS, settings.HTTPS = "https://reeds.example.org", True
    before = time.time()
    assert send(kept, {"body": "There is an answer."}, "studio-1")
    ((_path, headers, body),) = service.got
    assert b"answer" not in body
    assert service.came_to(browser) == [{"body": "There is an answer."}]
    claims = claims_of(headers["Authorization"], signing.public_key())
    assert (claims["aud"], claims["sub"]) == (service.address, "https://reeds.example.org")
    assert before < claims["exp"] <= time.time() + 24 * 3600
    told = {"Content-Encoding": "aes128gcm", "Topic": "studio-1", "TTL": str(7 * 24 * 3600)}
    assert told.items() <= headers.items()


def test_without_https_the_sender_of_e_mails_stands_for_the_site(settings, tmp_path):
    settings.DATA_DIR, settings.HTTPS = tmp_path, False
    settings.DEFAULT_FROM_EMAIL = "Reeds <reeds@example.org>"
    claims = claims_of(signing.authorization(PUBLIC), signing.public_key())
    assert (claims["aud"], claims["sub"]) == ("https://push.example.org", "mailto:reeds@example.org")


def test_the_key_is_made_once_and_for_its_owner_alone(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    made = signing.public_key()
    assert signing.public_key() == made
    (file,) = tmp_path.iterdir()
    assert file.name == "push_key"
    assert file.stat().st_mode & 0o777 == 0o600
    file.unlink()
    assert signing.public_key() != made


# --- what becomes of it ----------------------------------------------------------------------------


def test_a_device_that_went_away_is_forgotten_and_no_other(service, phone, student):
    _browser, kept = phone
    other = choose(student.person, TellBy.PHONE, service.browser("two").gives)
    for gone in (404, 410):
        service.answers["/push/one"] = gone
        kept.save()
        assert not send(kept, {}, "t")
        assert list(Phone.objects.all()) == [other]


def test_what_is_not_taken_leaves_the_device_and_may_be_tried_again(service, phone):
    _browser, kept = phone
    for status in (500, 503, 429, 403, 400, 302):
        service.answers["/push/one"] = status
        with pytest.raises(NotTaken, match=f"answered {status}"):
            send(kept, {}, "t")
    service.answers.clear()
    assert send(kept, {}, "t")
    assert Phone.objects.exists()


def test_nobody_is_led_on(service, phone):
    service.answers["/push/one"], service.leads_to = 307, f"{service.address}/push/elsewhere"
    with pytest.raises(NotTaken):
        send(phone[1], {}, "t")
    assert [path for path, *_rest in service.got] == ["/push/one"]


def test_no_error_tells_the_address(service, phone):
    service.answers["/push/one"] = 500
    with pytest.raises(NotTaken) as refused:
        send(phone[1], {}, "t")
    assert "push/one" not in str(refused.value)
    assert "push/one" not in str(phone[1])


def test_one_whose_certificate_nobody_vouches_for_gets_nothing(service, phone, monkeypatch):
    monkeypatch.delenv("SSL_CERT_FILE")
    with pytest.raises(NotTaken, match="SSL"):
        send(phone[1], {}, "t")
    assert service.got == []


def test_one_that_answers_a_letter_at_a_time_is_let_go_of(student, monkeypatch, settings):
    """It takes the call and says nothing that would end: neither waits the worker, nor anybody behind it."""
    settings.PUSH_TO_INSIDE = True
    monkeypatch.setattr(line, "LONGEST_S", 0.3)
    ended = threading.Event()

    def drip(server):
        caller, _address = server.accept()
        with caller:
            while not ended.wait(0.02):
                try:
                    caller.sendall(b"\x16")
                except OSError:
                    return

    with socket.create_server(("127.0.0.1", 0)) as server:
        thread = threading.Thread(target=drip, args=(server,))
        thread.start()
        endpoint = f"https://127.0.0.1:{server.getsockname()[1]}/"
        with pytest.raises(NotTaken):
            send(choose(student.person, TellBy.PHONE, Browser(endpoint).gives), {}, "t")
        ended.set()
        thread.join()


# --- only outside ----------------------------------------------------------------------------------


def test_what_is_outside():
    assert [one for one in INSIDE if line.is_outside(ipaddress.ip_address(one))] == []
    assert [one for one in OUTSIDE if not line.is_outside(ipaddress.ip_address(one))] == []


def names_say(monkeypatch, *addresses):
    found = [(socket.AF_INET, socket.SOCK_STREAM, 6, "", (one, 443)) for one in addresses]
    monkeypatch.setattr(socket, "getaddrinfo", lambda *_asked, **_more: found)


def test_a_name_that_leads_inside_by_any_of_its_addresses_is_not_called_and_forgotten(
    student, monkeypatch, settings, tmp_path
):
    settings.DATA_DIR = tmp_path
    called = []
    monkeypatch.setattr(socket, "create_connection", lambda where, *_more: called.append(where))
    for inside in INSIDE:
        names_say(monkeypatch, OUTSIDE[0], inside)
        assert not send(choose(student.person, TellBy.PHONE, Browser(PUBLIC).gives), {}, "t")
        assert not Phone.objects.exists()
    assert called == []


def test_the_call_goes_to_the_address_that_was_looked_at(student, monkeypatch, settings, tmp_path):
    settings.DATA_DIR = tmp_path
    called = []

    def refuse(where, *_more):
        called.append(where)
        raise ConnectionRefusedError

    names_say(monkeypatch, *OUTSIDE[:2])
    monkeypatch.setattr(socket, "create_connection", refuse)
    with pytest.raises(NotTaken, match="ConnectionRefusedError"):
        send(choose(student.person, TellBy.PHONE, Browser(PUBLIC).gives), {}, "t")
    assert called == [(one, 443) for one in OUTSIDE[:2]]


TLS = "https://"
REFUSED = (
    *("http://push.example.org/a", "ftp://push.example.org/", "push.example.org", "//push.example.org/a", ""),
    *(f"{TLS}/a", f"{TLS}me@push.example.org/a", f"{TLS}push.example.org:8443/a", f"{TLS}push:x/a"),
    *(f"{TLS}push.example.org/a#b", f"{TLS}push.example.org/a b", f"{TLS}push.example.org/ü"),
    *(f"{TLS}localhost/a", f"{TLS}a.localhost/", f"{TLS}db.internal/", f"{TLS}printer.local/"),
    *(f"{TLS}127.0.0.1/a", f"{TLS}[::1]/a", f"{TLS}169.254.169.254/latest", f"{TLS}[bad/a"),
    *(f"{TLS}push.example.org/a\r\nX: y", "javascript:alert(1)"),
)


def test_which_addresses_a_browser_may_give():
    assert [one for one in REFUSED if line.may_be_asked(one)] == []
    assert line.may_be_asked(PUBLIC)
    assert line.may_be_asked(f"{TLS}{OUTSIDE[0]}/a?b=c")
    assert line.may_be_asked("https://push.example.org:443/a")


# --- the choice ------------------------------------------------------------------------------------


def form(person, **given):
    return ToldForm(person, {"told_by": "phone", **Browser(PUBLIC).gives, **given})


def test_what_a_browser_gives_is_looked_at(student):
    assert form(student.person).is_valid()
    bad = (
        *({"endpoint": one} for one in REFUSED if one),
        {"endpoint": PUBLIC + "a" * LONGEST_ENDPOINT},
        *({"p256dh": one} for one in ("", "AAAA", "ü", "B" * 87, "!!!!")),
        *({"auth": one} for one in ("", "AAAA", "A" * 30, "?")),
        {"told_by": "pigeon"},
        {"told_by": ""},
    )
    assert [one for one in bad if form(student.person, **one).is_valid()] == []


def test_a_notice_without_a_device_is_refused_with_a_sentence(student, as_member):
    client = as_member(student)
    page = client.post(student.to("told"), {"told_by": "phone"})
    assert page.status_code == 422
    assert "This browser did not say where it can be told." in page.content.decode()
    student.person.refresh_from_db()
    assert student.person.told_by == TellBy.MAIL


def test_each_chooses_and_what_is_not_needed_any_more_goes(student, other_student, as_member):
    mine, theirs = as_member(student), as_member(other_student)
    assert theirs.post(student.to("told"), {"told_by": "phone", **Browser(PUBLIC + "2").gives}).url
    assert mine.post(student.to("told"), {"told_by": "phone", **Browser(PUBLIC).gives}).status_code == 302
    page = mine.get(student.to("me")).content.decode()
    assert "1 device of yours is told" in " ".join(page.split())
    assert "this one too." in page
    assert PUBLIC not in page
    elsewhere = " ".join(as_member(student).get(student.to("me")).content.decode().split())
    assert "This one is not yet" in elsewhere
    for way in ("mail", "neither"):
        assert mine.post(student.to("told"), {"told_by": way}).status_code == 302
        student.person.refresh_from_db()
        assert student.person.told_by == way
    assert [one.person for one in Phone.objects.all()] == [other_student.person]


def test_a_guardian_is_told_nothing_and_chooses_nothing(teacher, as_member):
    guardian = make.guardian(make.student(studio=teacher.studio, under_age=True))
    client = as_member(guardian)
    assert "How you are told" not in client.get(guardian.to("me")).content.decode()
    assert client.post(guardian.to("told"), {"told_by": "neither"}).status_code == 404


def test_whoever_gave_an_address_last_has_it_and_nobody_has_more_than_a_few(student, other_student):
    choose(other_student.person, TellBy.PHONE, Browser(PUBLIC).gives)
    kept = choose(student.person, TellBy.PHONE, Browser(PUBLIC).gives)
    assert list(Phone.objects.all()) == [kept]
    for number in range(MOST_PHONES + 2):
        last = choose(student.person, TellBy.PHONE, Browser(f"{PUBLIC}{number}").gives)
    assert student.person.phones.count() == MOST_PHONES
    assert student.person.phones.first() == last
    assert not Phone.objects.filter(pk=kept.pk).exists()


# --- signed out is forgotten -----------------------------------------------------------------------


@pytest.fixture
def places(student, as_member):
    """Two devices of one student on which they are signed in, each of which is told."""
    clients = [as_member(student) for _place in range(2)]
    for number, client in enumerate(clients):
        given = {"told_by": "phone", **Browser(f"{PUBLIC}{number}").gives}
        assert client.post(student.to("told"), given).status_code == 302
    return clients


def endpoints():
    return {one.endpoint.removeprefix(PUBLIC) for one in Phone.objects.all()}


def test_signed_out_on_a_device_it_is_forgotten(places):
    places[0].post("/account/logout/")
    assert endpoints() == {"1"}


def test_signed_out_elsewhere_by_a_teacher_or_by_command_they_are_forgotten(places, student):
    places[0].post(student.to("sign_out_elsewhere"))
    assert endpoints() == {"0"}
    sessions.end_all(student.person)
    assert endpoints() == set()


def test_all_signed_out_all_are_forgotten(places):
    sessions.end_all()
    assert endpoints() == set()


def test_a_session_that_ended_by_itself_or_by_another_password_ends_its_device(places, student):
    assert len(sessions.phones_signed_in(student.person)) == 2
    Session.objects.filter(session_key=places[0].session.session_key).delete()
    assert [one.endpoint for one in sessions.phones_signed_in(student.person)] == [f"{PUBLIC}1"]
    assert endpoints() == {"1"}
    student.person.set_password("another one, with words")
    student.person.save()
    assert sessions.phones_signed_in(student.person) == []
    assert endpoints() == set()


def test_a_device_goes_with_its_person(places, student):
    let_go_of_account(student)
    assert endpoints() == set()
