"""Whatever an address or a form says: a page, a refusal, a 404, never an error of the server's.

Every address is asked with odd values for all that any page reads from an address, and every form of every
page is sent with odd values in each of its fields, also those that say how many rows there are.
"""

import re
from functools import cache
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from django.conf import settings
from django.db import transaction

from tests.signed_in import session_of, within
from tests.studio.behind_proxy import Page
from tests.world import KNOWN, WATCHED, World, may_open

pytestmark = pytest.mark.django_db
# digits that are none, more than a column holds, more than int() reads, no number, no text of a database
ODD = ["²", "9" * 30, "9" * 5000, "-" + "9" * 5000, "nan", "\x00;<b>'\"%s{{x}}"]
READ = re.compile(r"""GET(?:\.get|\.getlist)?[(\[]"(\w+)\"""")
KEYS = sorted(
    {
        name
        for app in ("studio", "reeds", "lessons")
        for file in (Path(settings.BASE_DIR) / app).rglob("*.py")
        for name in READ.findall(file.read_text())
    }
)
FIELDS = ("student", "number", "quantity", "stage", "owner", "waits", "value", "day", "page")


@pytest.fixture(scope="module")
def made(once):
    return once(World)


@pytest.fixture
def world(made, anew):
    return anew(made)


@pytest.fixture
def client_of(world):
    """Return a function that gives a member's client: a new one each time, signed in once."""
    session_of_member = cache(lambda member: session_of(member.person))
    return lambda member: within(session_of_member(member))


def error_of(ask, *given, **more):
    """Return what went wrong on the server, or ''; nothing that was written stays."""
    with transaction.atomic():
        try:
            answer = ask(*given, **more)
            if answer.streaming:
                list(answer.streaming_content)
        except Exception as error:
            return f"{type(error).__name__}: {error}"[:200]
        finally:
            transaction.set_rollback(True)
    if answer.status_code >= 500 or answer.streaming:
        return str(answer.status_code) if answer.status_code >= 500 else ""
    return unled(answer.text) if "html" in answer.headers.get("content-type", "") else ""


def unled(text):
    """Return what is amiss where a page refuses fields: no list of it, or a line of it leads nowhere."""
    listed = re.findall(r'<div class="message message-error refused".*?</div>', text, re.DOTALL)
    leads = [place for one in listed for place in re.findall(r'href="#([^"]+)"', one)]
    nowhere = [place for place in leads if f'id="{place}"' not in text]
    wrong = text.count('class="errorlist"') + text.count('aria-invalid="true"')
    return f"leads nowhere: {nowhere}" if nowhere else "no list" if wrong and not leads else ""


def test_a_refusal_without_a_list_or_with_one_that_leads_nowhere_is_seen():
    listed = '<div class="message message-error refused"><a href="#id_a">A: no.</a></div>'
    assert unled('<ul class="errorlist"><li>No.</li></ul>') == "no list"
    assert unled(listed) == "leads nowhere: ['id_a']"
    assert unled(f'{listed}<input id="id_a" aria-invalid="true">') == ""


def test_the_keys_that_pages_read_are_found():
    assert {"term", "page", "tries", "number", "quantity"} <= set(KEYS)


@pytest.mark.parametrize("odd", [*ODD[:3], ODD[-1]], ids=lambda odd: ascii(odd)[:12])
def test_addresses_with_odd_values(world, client_of, odd):
    asked = dict.fromkeys((*KEYS, *FIELDS), odd)
    wrong = {}
    for address in KNOWN:
        for member in may_open(address.page, world)[-1:]:
            found = error_of(client_of(member).get, address.of(world), asked)
            if found and (address.page.who, found) != (WATCHED, "503"):  # its state, as without odd values
                wrong[address.name] = found
    assert wrong == {}


def forms_of(client, path):
    """Return the forms of a page as a browser would send them untouched, each with its address."""
    answer = client.get(path)
    if answer.streaming:
        list(answer.streaming_content)  # read to the end, which closes the file
        return []
    if answer.status_code != 200 or "html" not in answer.headers.get("content-type", ""):
        return []
    return [(urlsplit(form.action).path or path, form.fields) for form in Page(answer.content.decode()).forms]


@pytest.fixture
def forms(world, client_of):
    """Every form that somebody is shown, with who that is; one that stands on many pages once."""
    found = {}
    for address in KNOWN:
        for member in may_open(address.page, world)[-1:]:
            client = client_of(member)
            for path, fields in forms_of(client, address.of(world)):
                found.setdefault((path, tuple(sorted(fields))), (client, path, fields))
    return list(found.values())


def oddly(fields, turn):
    """Return the fields of a form with another odd value in each, by turns; how many rows there are last."""
    names = sorted(fields, key=lambda name: name.endswith("_FORMS"))
    values = {name: ODD[(place + turn) % len(ODD)] for place, name in enumerate(names)}
    counts = {name: fields[name] for name in names if name.endswith("_FORMS")}
    return values if turn == 0 else values | counts


def test_forms_with_odd_values(forms):
    assert len(forms) > 60
    wrong = {}
    for client, path, fields in forms:
        for sent in ({}, *(oddly(fields, turn) for turn in range(len(ODD)))):
            found = error_of(client.post, path, sent)
            if found:
                wrong[path] = found
    assert wrong == {}
