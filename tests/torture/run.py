"""The kill run: people who repeat until acknowledged, a studio that dies under them, the count at the end."""

import sys
import threading
import time
from collections import Counter
from dataclasses import dataclass, field
from queue import Queue

import numpy as np

from studio.children import port_is_free
from tests.torture import faults
from tests.torture.client import Student, Teacher
from tests.torture.mail import Mail
from tests.torture.site import Site

PATIENCE_S = 1200
LATER_S = 3 * 3600  # the clock is set on at the end: what was put off is due, by a clock set on too
SMALL_MB, LARGE_MB = 96, 400
TICK_S = 0.1


@dataclass
class Report:
    """What was done and what was found."""

    lines: list[str] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    killed: Counter = field(default_factory=Counter)
    began: Counter = field(default_factory=Counter)

    def say(self, line=""):
        self.lines.append(line)

    @property
    def text(self):
        return "\n".join([*self.lines, *(f"WRONG: {one}" for one in self.wrong), ""])


class Run:
    """One run of so many seconds with so many kills."""

    def __init__(self, folder, seconds, kills, seed=1, given=None):
        self.began = time.monotonic()
        self.seconds, self.kills, self.rng = seconds, kills, np.random.default_rng(seed)
        self.report, self.mail, self.over, self.sent = Report(), Mail(), threading.Event(), Queue()
        self.site = Site(folder / "data", self.mail.port, given or {})
        self.site.data.mkdir(exist_ok=True)

    def whole(self, prepare=lambda _data: None):
        """Do all of it; `prepare` may put a database into the folder. Return the report."""
        self.disk = faults.SmallDisk(self.site, SMALL_MB if self.seconds < 300 else LARGE_MB)
        try:
            prepare(self.site.data)
            self.site.make()
            self.site.start()
            self._wait(lambda: "The studio is at" in self.site.said.read_text(), "the first start")
            people = self._people()
            self._torture(people)
            self._calm(people)
            self._count(people)
        finally:
            self.over.set()
            self.site.stop()
            self.mail.stop()
            self.disk.close()
        return self.report

    def _people(self):
        known = self.site.known
        people = [Student(self.site, one, self.over, self.sent) for one in known["students"]]
        people.append(Teacher(self.site, known["teacher"], self.over, self.sent))
        for person in people:
            person.start()
        return people

    def _wait(self, true, what):
        """Wait for a condition, with patience; the studio is looked after meanwhile."""
        begun = time.monotonic()
        while not true():
            if time.monotonic() - begun > PATIENCE_S:
                raise AssertionError(f"waited {PATIENCE_S} s for {what}\n{self.report.text}")
            self.site.look_after()
            time.sleep(TICK_S)
        return time.monotonic() - begun

    def _tell(self, what):
        """Say while it goes on how far it is."""
        since_s = time.monotonic() - self.began
        sys.stderr.write(f"{since_s:6.1f} s, {self.report.killed.total()} kills: {what}\n")

    # --- what goes wrong ---

    def _troubles(self):
        """Yield what is wrong for a while, by name, in turn and without end."""
        while True:
            yield "disk full", self.disk, 5
            yield "mail server away", faults.NoMail(self.mail), 8
            yield "clock 90 minutes on", faults.Clock(self.site, 5400), 5
            yield "data read-only", faults.ReadOnly(self.site), 5
            yield "clock 90 minutes back", faults.Clock(self.site, -5400), 5
            yield "database locked 25 s", faults.Locked(self.site), 0

    def _kinds(self):
        """Yield kinds of kills: each once at first, then as often as its share."""
        yield from faults.KINDS
        shares = np.array([faults.SHARES[kind] for kind in faults.KINDS])
        while True:
            yield str(self.rng.choice(faults.KINDS, p=shares / shares.sum()))

    def _torture(self, people):
        """Kill at a steady pace; every few kills something else goes wrong for a while."""
        begun, kinds, troubles = time.monotonic(), self._kinds(), self._troubles()
        pace = self.seconds / self.kills
        between = threading.Thread(target=self._trouble, args=(troubles, begun), daemon=True)
        between.start()
        while time.monotonic() - begun < self.seconds or self.report.killed.total() < self.kills:
            before = self._acknowledged(people)
            self._kill(next(kinds))
            until = time.monotonic() + pace
            self._wait(lambda until=until: time.monotonic() > until, "the next kill")
            if self.report.killed.total() % 5 == 0:  # all of it is in vain if nothing goes on
                self._wait(lambda before=before: self._acknowledged(people) > before, "an acknowledgement")
        self._wait(lambda: not between.is_alive(), "the last trouble's end")

    def _kill(self, kind):
        """Kill one of a kind as soon as there is one."""
        self._wait(lambda: self._hit(kind), f"a {kind} to kill")
        self.report.killed[kind] += 1
        self._tell(f"killed {kind}")

    def _hit(self, kind):
        return faults.kill(self.site, kind, self.rng)

    def _trouble(self, troubles, begun):
        for name, trouble, lasts_s in troubles:
            if time.monotonic() - begun > self.seconds and len(self.report.began) >= 6:
                return
            self._tell(f"{name} begins")
            trouble.begin()
            try:
                time.sleep(lasts_s)
            finally:
                trouble.end()
            self._tell(f"{name} has ended")
            self.report.began[name] += 1
            time.sleep(2)

    @staticmethod
    def _acknowledged(people):
        return sum(len(person.kept) for person in people)

    # --- and what came of it ---

    def _calm(self, people):
        """Let everybody come to an end, and the worker too."""
        self.over.set()
        self._tell("nobody begins anything new")
        self._wait(lambda: not any(person.is_alive() for person in people), "people to end what they began")
        self._tell("the studio is ended and started")
        # a bucket refuses who has the time wrong; there what was put off is hurried instead
        self.site.set_clock(0 if self.site.in_bucket else LATER_S)
        self.site.stop()  # in order: who starts again looks at once after what was left behind
        self.site.start()
        took_s = self._wait(self.site.has_done_all, "the queue to be empty")
        self.report.say(f"queue empty {took_s:.0f} s after the last request")
        self._tell("the queue is empty")
        self.site.stop()
        self._wait_for_the_end()

    def _wait_for_the_end(self):
        until = time.monotonic() + PATIENCE_S
        while (left := self.site.living()) and time.monotonic() < until:
            time.sleep(TICK_S)
        self.report.wrong += [f"a process goes on: {pid} {line}" for pid, line in left.items()]
        if not port_is_free("127.0.0.1", self.site.port):
            self.report.wrong.append("the port is not free")

    def _count(self, people):
        kept = [one for person in people for one in person.kept]
        counted = self.site.count(kept)
        say, report = self.report.say, self.report
        say(f"killed {report.killed.total()}: {_told(report.killed)}")
        say(f"went wrong for a while: {_told(report.began)}; disk by {self.disk.way}")
        say(f"studio started {self.site.starts} times, {self.site.ended} of them after it had ended")
        say(f"acknowledged {len(kept)}: {_told(Counter(one['kind'] for one in kept))}")
        say(f"rows: {_told(counted['rows'])}")
        say(f"answers: {_told(sum((person.answers for person in people), Counter()))}")
        say(f"letters: {len(self.mail.subjects)}, tasks that were given up: {_told(counted['failed'])}")
        say(f"refused after they were acknowledged: {_told(counted['refused'])}")
        report.wrong += [one for person in people for one in person.wrong]
        report.wrong += counted["wrong"]


def _told(counter):
    return ", ".join(f"{name} {number}" for name, number in counter.items()) or "none"
