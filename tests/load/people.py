"""What people of a conservatory do at once: students and teachers, as locust plays them.

A program of its own (`python -m tests.load.people FILE SECONDS`), since locust changes how Python waits. FILE
says who there is, and where; beside it comes what took how long, and what was acknowledged.
"""

import json
import random
import re
import sys
import uuid
from collections import Counter
from pathlib import Path

import gevent
from locust import HttpUser, between, task
from locust.env import Environment

from tests.torture.client import CSRF, KEY

SPAWN_A_SECOND = 30
# from one thing to the next: a page is read, a number looked up on the ruler
PAUSE_S = (10, 30)
ROUND = re.compile(r'/queue/(\d+)/["?]')
GIVEN = {}
KEPT = []


class Person(HttpUser):
    """Somebody signed in."""

    abstract = True
    wait_time = between(*PAUSE_S)
    kind = ""

    def on_start(self):
        self.known = GIVEN[self.kind].pop()
        self.rng = random.Random(self.known["session"])  # noqa: S311
        self.client.cookies.set("sessionid", self.known["session"])
        self.client.cookies.set("csrftoken", CSRF)
        self.client.headers.update({"X-CSRFToken": CSRF, "HX-Request": "true"})

    def path(self, rest):
        return f"/studio/{self.known['studio']}/{rest}"

    def get(self, name, rest, **more):
        return self._asked("GET", name, rest, {}, **more)

    def post(self, name, rest, data, kept=None, good=(200, 204, 302), **more):
        """Send something; what the server acknowledges it must have."""
        answer = self._asked("POST", name, rest, {"data": data} | more, good=good)
        if kept and answer.status_code in good:
            KEPT.append(kept)
        return answer

    def _asked(self, method, name, rest, given, good=(200,)):
        where = self.path(rest)
        with self.client.request(
            method, where, name=name, allow_redirects=False, catch_response=True, timeout=120, **given
        ) as answer:
            if answer.status_code in good:
                answer.success()
            else:
                answer.failure(f"{answer.status_code}: {answer.text[:120]!r}" if answer.text else "no answer")
        return answer


class Student(Person):
    """Looks, types, sends."""

    kind, fixed_count = "students", 0

    @task(10)
    def desk(self):
        self.get("desk", "desk/")

    @task(10)
    def reed(self):
        self.get("reed", f"reeds/{self.rng.choice(self.known['seen'])}/")

    @task(1)
    def term(self):
        self.get("a student's term", "term/")

    @task(8)
    def type(self):
        """Open a draft and type into it; each pause of the fingers saves it."""
        reed = self.known["own"][0]
        if not (key := self._draft(reed)):
            return
        for _each in range(3):
            typed = self._typed(key)
            kept = {"kind": "draft", "key": key, "question": typed["question"]}
            KEPT.append(kept | {"kind": "tried"})  # it may be there though its reply never comes
            self.post("autosave", f"send/{reed}/save/", typed, kept)
            gevent.sleep(self.rng.uniform(1, 3))

    @task(1)
    def send(self):
        """Send a round of another reed, with its photo."""
        if len(self.known["own"]) < 2:
            return
        reed = self.known["own"].pop()
        if not (key := self._draft(reed)):
            return
        photo = str(uuid.uuid4())
        sent = {"key": key, "photo-key": photo}
        file = {"files": {"photo": ("a", GIVEN["photo"], "image/jpeg")}}
        self.post("photo", f"send/{reed}/photo/", sent, {"kind": "photo", "key": photo}, **file)
        typed = self._typed(key)
        kept = {"kind": "round", "key": key, "question": typed["question"], "photo": photo}
        self.post("send", f"send/{reed}/go/", typed, kept)

    def _draft(self, reed):
        found = KEY.search(self.get("draft", f"send/{reed}/").text or "")
        return found and found.group(1)

    def _typed(self, key):
        number = round(self.rng.uniform(70, 74) * 2) / 2
        return {"key": key, "tie_length": str(number), "question": f"question {uuid.uuid4()}"}


class Teacher(Person):
    """Looks who waits, and answers one after the other."""

    kind, fixed_count = "teachers", 0
    waiting = ()

    @task(4)
    def desk(self):
        self.get("desk of a teacher", "desk/")

    @task(2)
    def term(self):
        self.get("a studio's term", "term/")

    @task(8)
    def queue(self):
        self.waiting = sorted(set(ROUND.findall(self.get("queue", "queue/").text or "")))

    @task(10)
    def answer(self):
        """Look at one that waits; then answer it."""
        if not self.waiting:
            return self.queue()
        one = self.rng.choice(self.waiting)
        self.get("review", f"queue/{one}/")
        gevent.sleep(self.rng.uniform(2, 6))
        words = f"answer {uuid.uuid4()}"
        kept = {"kind": "answer", "submission": int(one), "words": words}
        said = {"words": words, "decision": "rest", "next_step": "wait"}
        self.post("answer", f"queue/{one}/answer/", said, kept)
        self.waiting = [other for other in self.waiting if other != one]
        return None


def mix():
    """Return how often each kind of person does what: of so many things done, so many of each."""
    return {kind.kind: Counter(one.__name__ for one in kind.tasks) for kind in (Student, Teacher)}


def figures(stats):
    return [
        {
            "request": one.name,
            "times": one.num_requests,
            "failed": one.num_failures,
            "median_ms": one.median_response_time,
            "p95_ms": one.get_response_time_percentile(0.95),
            "most_ms": one.max_response_time,
        }
        for one in sorted(stats.entries.values(), key=lambda one: one.name)
    ]


def main(file, seconds):
    known = json.loads(Path(file).read_text())
    GIVEN["photo"] = Path(known["photo"]).read_bytes()
    for kind in (Student, Teacher):
        GIVEN[kind.kind] = list(known[kind.kind])
        kind.fixed_count = len(GIVEN[kind.kind])
    everybody = Student.fixed_count + Teacher.fixed_count
    environment = Environment(user_classes=[Student, Teacher], host=known["address"])
    runner = environment.create_local_runner()
    runner.start(everybody, spawn_rate=SPAWN_A_SECOND)
    gevent.spawn_later(float(seconds), runner.quit)
    runner.greenlet.join()
    total = environment.stats.total
    said = {
        "requests": figures(environment.stats),
        "errors": {f"{one.name}: {one.error}": one.occurrences for one in environment.stats.errors.values()},
        "a_second": total.total_rps,
        "mix": mix(),
        "kept": KEPT,
    }
    Path(file).with_suffix(".said").write_text(json.dumps(said))


if __name__ == "__main__":
    main(*sys.argv[1:])
