"""Prints where the server's code spends its time over the mix of the load: `python -m tests.load.profiled`.

The demo's studio, asked by Django's client in one process: of each kind of page as many as nine students and
a teacher ask for (`tests.load.people`), without what is sent once. First the processor's time a request, not
profiled, the median of 5; then the ten functions with the most time of their own. It runs in the tree of an
earlier commit too, where that has `tests.bench.pages`: copy it there.
"""

import cProfile
import gc
import pstats
import statistics
import sys
import time

from tests.bench.term import in_a_database_of_its_own

SAVED = (200, 204)
ROUNDS, TOP = 5, 10


class Mix:
    """Who asks for what how often."""

    def __init__(self, teacher, student, reed, waiting, draft, *_more):
        from django.test import Client

        from lessons.sending.models import Submission
        from reeds.reed.models.reed import Reed

        self.clients = {member.pk: Client(headers={"host": "127.0.0.1"}) for member in (teacher, student)}
        for member in (teacher, student):
            self.clients[member.pk].force_login(member.person)
        self.student, self.draft, self.saves = student, draft, 0
        self.key = str(Submission.objects.get(reed=draft, sent_at=None).key)
        newest = Reed.objects.filter(owner=student).order_by("-number")
        reeds = list(newest.values_list("pk", flat=True)[:10])
        self.kinds = {
            "desk of a student": (30, lambda _n: self.get(student, "lessons:desk")),
            "reed": (30, lambda n: self.get(student, "reeds:reed", reeds[n % len(reeds)])),
            "a student's term": (3, lambda _n: self.get(student, "lessons:term")),
            "draft": (27, lambda _n: self.get(student, "lessons:draft", draft)),
            "autosave": (72, lambda _n: self.save()),
            "desk of a teacher": (2, lambda _n: self.get(teacher, "lessons:desk")),
            "a studio's term": (1, lambda _n: self.get(teacher, "lessons:term")),
            "queue": (3, lambda _n: self.get(teacher, "lessons:queue")),
            "review": (4, lambda _n: self.get(teacher, "lessons:review", waiting)),
        }
        self.requests = sum(times for times, _ask in self.kinds.values())

    def get(self, member, *place):
        answer = self.clients[member.pk].get(member.to(*place))
        assert answer.status_code == 200, (place, answer.status_code)

    def save(self):
        """Type another number and another question."""
        self.saves += 1
        typed = {"key": self.key, "tie_length": str(70 + self.saves % 9 / 2), "question": f"q {self.saves}"}
        path = self.student.to("lessons:save", self.draft)
        answer = self.clients[self.student.pk].post(path, typed, headers={"HX-Request": "true"})
        assert answer.status_code in SAVED, answer.status_code

    def run(self):
        """Ask for all; return the milliseconds of the processor that each kind took a request."""
        took = {}
        for name, (times, ask) in self.kinds.items():
            began = time.process_time()
            for number in range(times):
                ask(number)
            took[name] = (time.process_time() - began) * 1000 / times
        return took


def told(stats, requests):
    """The profile as lines."""
    own = {where: figures[2] for where, figures in stats.stats.items()}
    yield f"profiled: {stats.total_calls / requests:.0f} calls a request; the most time of their own:"
    for where in sorted(own, key=own.get, reverse=True)[:TOP]:
        file, line, name = where
        calls = stats.stats[where][1] / requests
        place = "/".join(file.split("/")[-3:])
        share, each = own[where] / stats.total_tt, own[where] * 1000 / requests
        yield f"{share:6.1%} {each:6.2f} ms a request, {calls:7.0f} calls  {place}:{line} {name}"


def measured():
    from tests.bench.pages import _the_demo

    mix = Mix(*_the_demo())
    mix.run()
    rounds = []
    for _each in range(ROUNDS):
        gc.collect()
        rounds.append(mix.run())
    each = {name: statistics.median(one[name] for one in rounds) for name in rounds[0]}
    whole = sum(each[name] * times for name, (times, _ask) in mix.kinds.items()) / mix.requests
    sys.stdout.write(f"{mix.requests} requests, {whole:.1f} ms of the processor each\n")
    sys.stdout.writelines(f"  {name}: {ms:.1f} ms\n" for name, ms in each.items())
    profile = cProfile.Profile(time.process_time)
    profile.runcall(mix.run)
    sys.stdout.writelines(f"{line}\n" for line in told(pstats.Stats(profile), mix.requests))
    return 0


if __name__ == "__main__":
    sys.exit(in_a_database_of_its_own(measured))
