"""One round sent by a phone in bad company: its pages, its browser and its line are killed at random points.

The person does what one does: looks what the page shows, enters what is missing, and goes on. What the page
said it keeps must be there when it is open again; nothing may come twice.
"""

import contextlib
import os
import shutil
import signal
import time
from collections import Counter
from pathlib import Path

import numpy as np
from playwright.sync_api import Error, TimeoutError

from studio.management.commands.verify import BROWSERS
from tests import factories as make
from tests.browser.conftest import FLAGS, PATIENCE_MS, PHONE

NUMBERS = {"tie_length": "72.5", "staple_length": "45"}
QUESTION = {"question": "Does it lean?"}
KINDS = ["page", "browser", "line"]
ACTS = 6  # what is entered, and Send: at some of these something is killed
MOST_ACTS = 40
LONGEST_S = 180  # for a Send to come through by itself: the pauses between tries grow to half a minute
CUT_AFTER_BYTES = [0, 1_500, 20_000, 150_000]
# where the page says that it keeps what was entered, on the server or here; of a Send, that it goes by itself
SENDS = ["sends-photos", "sends-later"]
KEPT = ["server", "phone", "going", *SENDS]
SHOWN = """names => {
    const form = document.getElementById("draft");
    if (!form) return null;
    const values = names.map((name) => [name, form.elements.namedItem(name).value]);
    const count = (kind) => document.querySelectorAll(`li[id^="${kind}-"]`).length;
    return { ...Object.fromEntries(values), photo: count("photo"), take: count("take") };
}"""
# a copy that the site's worker shows where the line is slow is dated, and gives way to the page by itself
PAGE_ITSELF = "html:not([data-as-of]) #draft[data-taken-up]"
STATE = "() => document.getElementById('kept')?.dataset.state ?? ''"
IS_KEPT = """states => {
    const line = document.getElementById("kept");
    return !line || states.includes(line.dataset.state);
}"""


class Phone:
    """A browser with a profile of its own, which is there again after it was killed."""

    def __init__(self, playwright, folder, address, session, worker="block"):
        self.playwright, self.folder, self.address, self.session = playwright, folder, address, session
        self.worker = worker  # of the site: "block" or "allow"
        self.start()

    def start(self):
        path = next(filter(None, map(shutil.which, BROWSERS)))
        self.context = self.playwright.chromium.launch_persistent_context(
            self.folder,
            executable_path=path,
            args=FLAGS,
            base_url=self.address,
            service_workers=self.worker,
            **PHONE,
        )
        self.context.set_default_timeout(PATIENCE_MS)
        self.context.add_cookies([{"name": "sessionid", "value": self.session, "url": self.address}])
        self.page = self.context.pages[0]

    def go(self, address):
        """Open a page; one that is just on its way to another one is asked once more."""
        with contextlib.suppress(Error):
            return self.page.goto(address)
        return self.page.goto(address)

    def stop(self):
        with contextlib.suppress(Error):
            self.context.close()

    def kill_page(self):
        fresh = self.context.new_page()
        self.page.close()
        self.page = fresh

    def kill_browser(self):
        for pid in self._processes():
            os.kill(pid, signal.SIGKILL)
        self.stop()
        self.start()

    def _processes(self):
        """The browser whose profile this folder is: our own, and no other."""
        profile = f"--user-data-dir={self.folder}".encode()
        for entry in Path("/proc").iterdir():
            with contextlib.suppress(OSError, ValueError):
                words = (entry / "cmdline").read_bytes().split(b"\0")
                if profile in words and not any(word.startswith(b"--type=") for word in words):
                    yield int(entry.name)


class Life:
    """From an empty draft to a round that was sent; `killed` counts what was killed, `wrong` says what is."""

    def __init__(self, phone, line, draft, is_sent, seed):
        self.phone, self.line, self.draft, self.is_sent = phone, line, draft, is_sent
        self.rng = np.random.default_rng(seed)
        self.killed, self.wrong, self.acts = Counter(), [], 0
        self.promised = {"photo": 0, "take": 0}
        self.plan = self._plan(seed)

    def _plan(self, seed):
        """At which acts what is killed: each kind in turn at the first, others at two more."""
        acts = self.rng.choice(ACTS, size=3, replace=False)
        kinds = [KINDS[seed % 3], *self.rng.choice(KINDS, size=2)]
        return dict(zip(map(int, acts), map(str, kinds), strict=True))

    @property
    def page(self):
        return self.phone.page

    def whole(self):
        """Enter and send all of it, whatever is killed; `is_sent` asks the server."""
        self._open()
        while not self.is_sent():
            if "send" in self.promised:
                return self._wait_for_it()
            self._enter(self._missing())
            if self.acts > MOST_ACTS:
                return self.wrong.append(f"not sent after {MOST_ACTS} acts")
        return None

    # --- what is killed ---

    def _enter(self, name):
        """Enter one thing; something may be killed while the page keeps it."""
        self._act(name)
        kind = self.plan.get(self.acts)
        self.acts += 1
        if kind is None:
            with contextlib.suppress(TimeoutError):  # a busy machine; nothing is promised by then
                self.page.wait_for_function(IS_KEPT, arg=SENDS if name == "send" else KEPT)
            return self._note()
        self.page.wait_for_timeout(float(self.rng.choice([0, 20, 100, 400, 1200])))
        self._note()
        return self._kill(kind)

    def _kill(self, kind):
        self.killed[kind] += 1
        if kind == "line":
            return self.line.cut(after=int(self.rng.choice(CUT_AFTER_BYTES)))
        self.phone.kill_page() if kind == "page" else self.phone.kill_browser()
        self.line.mend()  # without it no page opens
        return None if "send" in self.promised else self._open()

    # --- what the person sees and does ---

    def _open(self):
        """Open the draft: all that was promised of it is there."""
        self._go()
        shown = self._shown()
        if self.is_sent():  # a Send that nobody promised came through, and this is the next round
            return
        self.wrong += [
            f"lost: {name}, {shown[name]!r} for {value!r}"
            for name, value in self.promised.items()
            if name in shown and (shown[name] < value if isinstance(value, int) else shown[name] != value)
        ]

    def _go(self):
        """Open the page itself: who sees a copy, since the line was lost just then, asks once more."""
        self.phone.go(self.draft)
        with contextlib.suppress(TimeoutError):
            return self.page.wait_for_selector(PAGE_ITSELF)
        self.phone.go(self.draft)
        return self.page.wait_for_selector(PAGE_ITSELF)

    def _shown(self):
        """What the page of the draft shows; all of it where it goes on to that of the round just now."""
        with contextlib.suppress(Error):
            if shown := self.page.evaluate(SHOWN, [*NUMBERS, *QUESTION]):
                return shown
        return {**NUMBERS, **QUESTION, "photo": 2, "take": 1}

    def _note(self):
        """Note what the page says that it keeps."""
        with contextlib.suppress(Error):  # on its way to the page of the round
            state = self.page.evaluate(STATE)
            if state in KEPT:
                self.promised |= {name: value for name, value in self._shown().items() if value}
            if state in SENDS:
                self.promised["send"] = True

    def _missing(self):
        shown = self._shown()
        for name, values in (("numbers", NUMBERS), ("question", QUESTION)):
            if any(shown[one] != value for one, value in values.items()):
                return name
        if shown["photo"] > 2 or shown["take"] > 1:
            self.wrong.append(f"doubled: {shown}")
        return "photo" if shown["photo"] < 2 else "take" if shown["take"] < 1 else "send"

    def _act(self, name):
        page = self.page
        if name in ("numbers", "question"):
            for field, value in (NUMBERS if name == "numbers" else QUESTION).items():
                page.locator(f"[name={field}]").fill(value)
        elif name == "photo":
            picture = make.picture(2000, 1500)
            page.locator("#chosen").set_input_files(_file("a.jpg", "image/jpeg", picture))
        elif name == "take":
            chooser = page.locator('[data-item="tuning"] input[type=file]').first
            chooser.set_input_files(_file("a.wav", "audio/wav", make.tone()))
        else:  # where it is there still: a Send of an earlier page may have just come through
            page.evaluate("() => document.getElementById('send')?.click()")

    def _wait_for_it(self):
        """A Send that was promised needs no tap more: it goes from whichever page is open."""
        self.line.mend()
        if self.page.url == "about:blank" or self.rng.random() < 0.7:
            self.phone.go(self.draft.partition("/send/")[0] + "/box/")
        until = time.monotonic() + LONGEST_S
        while not self.is_sent() and time.monotonic() < until:
            self.page.wait_for_timeout(100)
        if not self.is_sent():
            self.wrong.append("lost: the Send")


def _file(name, kind, data):
    return {"name": name, "mimeType": kind, "buffer": data}
