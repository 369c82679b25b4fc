"""A student has this device told: what comes is a notice without a word, counted on the icon until read."""

import json
import re
import time

import pytest
from playwright.sync_api import expect

from studio.push.phones import Phone
from tests.browser.conftest import PATIENCE_MS, PHONE
from tests.lessons.sending.test_told_on_devices import answer_to, tell
from tests.studio.push_service import running

# no push service is asked by a browser without windows: it gives what one would have given
BADGED = """async (patience) => {
  const end = Date.now() + patience;
  while (self.badge === undefined && Date.now() < end) await new Promise((go) => setTimeout(go, 50));
  return [self.shown, self.badge];
}"""
HEARD = """() => {
  window.heard = [];
  navigator.serviceWorker.addEventListener("message", ({ data }) => heard.push(data.unread));
}"""
SUBSCRIBED = """({ endpoint, p256dh, auth }) => {
  const plain = (text) => atob(text.replaceAll("-", "+").replaceAll("_", "/"));
  const bytes = (text) => Uint8Array.from(plain(text), (one) => one.charCodeAt(0));
  const subscription = {
    endpoint,
    options: {},
    getKey: (name) => bytes({ p256dh, auth }[name]).buffer,
    unsubscribe: async () => localStorage.removeItem("subscribed"),
  };
  PushManager.prototype.getSubscription = async () => (localStorage.subscribed ? subscription : null);
  PushManager.prototype.subscribe = async ({ userVisibleOnly, applicationServerKey }) => {
    if (!userVisibleOnly || applicationServerKey.length !== 87) throw new Error("not as it must be");
    localStorage.subscribed = "yes";
    return subscription;
  };
}"""
# what the system shows and the icon carries, noted where nobody can look
NOTED = """() => {
  self.shown = []; self.opened = [];
  self.registration.showNotification = async (title, how) => { self.shown.push({ title, ...how }); };
  navigator.setAppBadge = async (count) => { self.badge = count ?? "a mark"; };
  self.clients.openWindow = async (address) => { self.opened.push(address); };
}"""


@pytest.fixture
def service(tmp_path, monkeypatch, settings):
    with running(tmp_path, monkeypatch, settings) as service:
        yield service


@pytest.fixture
def told_page(open_page, sign_in, student):
    page = open_page(**PHONE, permissions=["notifications"], service_workers="allow")
    return sign_in(page, student)


def delivered(page, worker, notice):
    """Have the browser take a notice as one from its push service."""
    line = page.context.new_cdp_session(page)
    found = []
    line.on("ServiceWorker.workerRegistrationUpdated", lambda told: found.extend(told["registrations"]))
    line.send("ServiceWorker.enable")
    page.wait_for_function("async () => Boolean((await navigator.serviceWorker.ready).active)")
    until = time.monotonic() + PATIENCE_MS / 1000
    while not found and time.monotonic() < until:
        page.evaluate("location.origin")  # what the browser says meanwhile is heard
    origin = page.evaluate("location.origin")
    to = {"origin": origin, "registrationId": found[0]["registrationId"]}
    worker.evaluate("() => { delete self.badge; }")
    line.send("ServiceWorker.deliverPushMessage", {**to, "data": json.dumps(notice)})
    return worker.evaluate(BADGED, PATIENCE_MS)


def tapped(worker, shown):
    """Tap a notice; return where that leads."""
    return worker.evaluate(
        """async (data) => {
          const event = Object.assign(new Event("notificationclick"), {
            notification: { data, close() {} }, waitUntil(work) { this.work = work; },
          });
          self.dispatchEvent(event);
          await event.work;
          return self.opened;
        }""",
        shown["data"],
    )


def test_a_student_is_told_on_the_phone_and_the_number_goes_once_it_is_read(
    told_page, service, student, teacher, sent, watch
):
    page, browser = told_page, service.browser()
    page.add_init_script(f"({SUBSCRIBED})({json.dumps(browser.gives)})")
    with page.context.expect_event("serviceworker") as begun:
        page.goto(student.to("me"))
    worker = begun.value
    worker.evaluate(NOTED)
    page.get_by_label("By a notice on this device").check()
    page.get_by_role("button", name="Keep how you are told").click()
    expect(page.get_by_text("1 device of yours is told, this one too.")).to_be_visible()
    kept = Phone.objects.get()
    assert (kept.person, kept.endpoint) == (student.person, browser.endpoint)

    page.goto(student.to("lessons:desk"))
    tell(answer_to(sent, teacher))
    (notice,) = service.came_to(browser)
    page.evaluate(HEARD)
    of_another = {**notice, "path": "/studio/999/desk/", "unread": 5, "elsewhere": 1}
    _, badge = delivered(page, worker, of_another)
    assert badge == 6, "one icon stands for both studios"
    (_, shown), badge = delivered(page, worker, notice)
    assert (shown["title"], shown["body"], badge) == (str(student.studio), "There is an answer.", 1)
    expect(page).to_have_title(f"(1) My desk · {student.studio}")
    assert page.evaluate("heard") == [1], "a page counts its own studio"

    (there,) = tapped(worker, shown)
    assert there.endswith(student.to("lessons:round", sent.pk))
    page.add_init_script("navigator.clearAppBadge = async () => { window.badge = 'none'; }")
    page.goto(there)
    page.wait_for_function("() => window.badge === 'none'")
    expect(page).to_have_title(re.compile("^Reed"))
    expect(page.get_by_role("navigation").get_by_text("not read yet")).to_be_hidden()
    page.goto(student.to("lessons:desk"))
    expect(page).to_have_title(f"My desk · {student.studio}")

    assert page.evaluate("localStorage.subscribed")
    page.goto("/account/logout/")
    page.get_by_role("main").get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/account/login/**")
    page.wait_for_function("() => !localStorage.subscribed")
    assert not Phone.objects.exists()


def test_what_the_browser_forbids_is_said_and_nothing_is_sent(open_page, sign_in, student):
    page = sign_in(open_page(**PHONE), student)
    page.add_init_script("Notification.requestPermission = async () => 'denied'")
    page.goto(student.to("me"))
    page.get_by_label("By a notice on this device").check()
    page.get_by_role("button", name="Keep how you are told").click()
    expect(page.get_by_text("The browser does not let this site tell you.")).to_be_visible()
    student.person.refresh_from_db()
    assert student.person.told_by == "mail"
