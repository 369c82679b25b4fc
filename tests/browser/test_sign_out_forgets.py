"""Signing out on a phone: what was not sent is told of, and nothing of that person is left for the next."""

import pytest
from playwright.sync_api import expect

from reeds.photo.models.photo import Photo
from tests import factories as make
from tests.browser.conftest import forgive

LEFT = """async () => {
  const db = await new Promise((go, fail) => {
    const opening = indexedDB.open("reeds");
    opening.onsuccess = () => go(opening.result);
    opening.onerror = () => fail(opening.error);
  });
  const of = (store) => new Promise((go) => {
    const asking = db.transaction(store).objectStore(store).getAll();
    asking.onsuccess = () => go(asking.result.map(({ draft }) => draft));
  });
  const left = { kept: await of("photos"), typed: await of("typed"), sends: await of("sends") };
  db.close();
  return { ...left, stored: Object.keys(localStorage).filter((name) => /^(draft|measure):/.test(name)) };
}"""
NOTHING = {"kept": [], "typed": [], "sends": [], "stored": []}


@pytest.fixture
def unsent(phone, sign_in, student, reed, watch):
    """A phone on which a photo and some words could not be sent."""
    watch.expect(503)
    for name in ("photo", "save"):
        phone.route(f"**{student.to(f'lessons:{name}', reed.pk)}", lambda route: route.fulfill(status=503))
    sign_in(phone, student).goto(student.to("lessons:draft", reed.pk))
    phone.get_by_label("Your question").fill("Mine alone?")
    picture = {"name": "reed.jpg", "mimeType": "image/jpeg", "buffer": make.picture(400, 300)}
    phone.locator("#chosen").set_input_files([picture])
    expect(phone.locator(".photo-coming .photo-said")).to_contain_text("tried again")
    yield phone
    phone.close()  # it tries again for as long as it is open
    # what htmx says of the 503 that this test gives
    forgive(watch, "htmx:", "Error Code 503")


def left(page):
    return page.evaluate(LEFT)


def test_what_is_unsent_is_kept_under_its_persons_name(unsent, student, reed):
    there = left(unsent)
    mine = f"{student.person_id}/{student.studio_id}/{reed.pk}"
    assert there == {**NOTHING, "kept": [mine], "typed": [mine]}


def test_signing_out_says_what_is_unsent_and_then_leaves_nothing(unsent, sign_in, other_student, axe):
    unsent.goto("/account/logout/")
    expect(unsent.locator("[data-unsent]")).to_be_visible()
    axe(unsent)
    unsent.locator("main").get_by_role("button", name="Sign out").click()
    unsent.wait_for_url("**/account/login/**")
    assert left(unsent) == NOTHING
    next_one = make.ReedFactory(owner=other_student, stage="tied")
    sign_in(unsent, other_student).goto(other_student.to("lessons:draft", next_one.pk))
    expect(unsent.locator(".photo-coming")).to_have_count(0)
    expect(unsent.get_by_label("Your question")).to_have_value("")
    assert not Photo.objects.exists()


def test_another_person_neither_sees_nor_clears_it(unsent, sign_in, other_student, student, reed):
    """The first was signed out by the server, not by themselves: theirs waits for them."""
    unsent.context.clear_cookies()
    own = make.ReedFactory(owner=other_student, stage="tied")
    sign_in(unsent, other_student).goto(other_student.to("lessons:draft", own.pk))
    expect(unsent.locator(".photo-coming")).to_have_count(0)
    unsent.goto("/account/logout/")
    expect(unsent.locator("[data-unsent]")).to_be_hidden()
    unsent.locator("main").get_by_role("button", name="Sign out").click()
    unsent.wait_for_url("**/account/login/**")
    assert left(unsent)["kept"] == [f"{student.person_id}/{student.studio_id}/{reed.pk}"]
