"""Every address of the site, opened by every member of the cast: what one may not see does not exist."""

import pytest
from django.db import transaction
from django.test import Client

from tests.signed_in import session_of, within
from tests.world import ADDRESSES, FILE, KNOWN, OPEN, OURS, PAGES, SIGNED_IN, WATCHED, World, may_open

pytestmark = pytest.mark.django_db
ENTRANCES = {  # pages of signing in that must be open, by their path below account/
    "login/",
    "logout/",
    "inactive/",
    "signup/",
    "confirm-email/",
    "password/reset/",
    "login/code/confirm/",
    "^confirm-email/(?P<key>[-:\\w]+)/$",
    "password/reset/key/done/",
    "^password/reset/key/(?P<uidb36>[0-9A-Za-z]+)-(?P<key>.+)/$",
    "password/reset/done/",
    "second-step/webauthn/login/",  # leads to the page of signing in
}
STUDIOS = [address for address in KNOWN if address.in_studio]
each = pytest.mark.parametrize("address", STUDIOS, ids=str)


class Entered(World):
    """The world with everybody signed in already."""

    def __init__(self):
        super().__init__()
        self.sessions = {member.pk: session_of(member.person) for member in (*self.cast, self.stranger)}

    def client(self, member):
        return within(self.sessions[member.pk])


@pytest.fixture(scope="module")
def made(once):
    return once(Entered)


@pytest.fixture
def world(made, anew):
    return anew(made)


def status(answer):
    if answer.streaming:
        list(answer.streaming_content)  # read to the end, which closes the photo's file
    return answer.status_code


def answers(client, path):
    """Return how the page answers to being looked at and to being sent a form."""
    return {status(client.get(path)), status(client.post(path))}


def does_not_exist(client, path):
    # 405 says only that the site's code knows such an address, which is public
    found = answers(client, path)
    return found <= {404, 405} and found != {405}


def test_every_address_has_an_example_and_says_who_may_open_it():
    missing = sorted({address.name for address in OURS} - set(PAGES))
    assert not missing, f"add these to PAGES in tests/world.py: {missing}"


def test_no_example_is_of_an_address_that_is_gone():
    assert set(PAGES) <= {address.name for address in OURS}


def test_addresses_are_named_in_one_style():
    named = [address.name.rpartition(":")[2] for address in OURS]
    assert [name for name in named if not name.isidentifier()] == []


@each
def test_who_is_not_signed_in_is_sent_to_sign_in(address, world):
    path = address.of(world)
    for answer in (Client().get(path), Client().post(path)):
        assert answer.status_code == 302
        assert answer["Location"].startswith("/account/login/")


@each
def test_a_teacher_of_another_studio_finds_nothing(address, world):
    assert answers(world.client(world.stranger), address.of(world)) == {404}


@each
def test_who_may_not_open_it_finds_nothing(address, world):
    allowed = may_open(address.page, world)
    path = address.of(world)
    for member in world.cast:
        if member not in allowed:
            assert does_not_exist(world.client(member), path), (member.role, path)


@each
def test_who_may_open_it_does(address, world):
    path = address.of(world)
    for member in may_open(address.page, world):
        client = world.client(member)
        with transaction.atomic():  # each finds the world as it was
            looked = status(client.get(path))
            assert looked in {200, 302, 405}, (member.role, looked)
            if looked == 405:
                # an empty form is answered with its own sentence, or does what needs no words
                assert status(client.post(path)) in {200, 204, 302, 422}, member.role
            transaction.set_rollback(True)


@each
def test_the_same_numbers_in_ones_own_studio_lead_nowhere(address, world):
    """A teacher who writes another studio's row into an address of their own studio."""
    if not address.rest:
        return
    theirs = address.of(world)
    own = theirs.replace(f"/studio/{world.studio.pk}/", f"/studio/{world.stranger.studio_id}/", 1)
    assert own != theirs
    assert does_not_exist(world.client(world.stranger), own)


@pytest.mark.parametrize("address", [one for one in KNOWN if not one.in_studio], ids=str)
def test_outside_a_studio_only_links_are_open(address, world):
    answer = Client().get(address.of(world))
    if PAGES[address.name].who in (OPEN, FILE):
        assert answer.status_code == 200
    elif PAGES[address.name].who == WATCHED:
        assert answer.status_code in (200, 503)  # which, is looked at in tests/studio/test_health.py
    else:
        assert PAGES[address.name].who == SIGNED_IN
        assert answer["Location"].startswith("/account/login/")


def test_of_the_account_pages_only_the_entrances_are_open():
    account = [address for address in ADDRESSES if address.route.startswith("account/")]
    assert account
    for address in account:
        path = address.route.removeprefix("account/")
        if path in ENTRANCES or address.rest:
            continue
        assert Client().get(f"/{address.route}").status_code == 302, path
