"""Prints how long each page takes against a bare view, its queries and its size.

`python -m tests.bench.pages [WORD ...]`: the demo's studio, and beside it a term of 40 students with 1,000
reeds; asked for as a browser does. The floor is a view of this site that needs somebody signed in and shows
fifty rows of one query in a plain table, without our frame. Garbage is looked for as seldom as in the web
server. The database has had its rows counted, as a worker has them when it starts and each day. Page and
floor are timed in turn, by the processor's clock; medians of 9. With words only the pages whose name holds
one of them. The same figures as JSON at the end.
"""

import gzip
import json
import sys
from dataclasses import asdict, dataclass
from itertools import chain

from tests.bench.term import in_a_database_of_its_own, median_times

ROUNDS = 9
FLOOR = "/bare/"


@dataclass(frozen=True)
class Bound:
    """What a page may take: times the floor, queries, KB compressed; None where nothing is asked."""

    floors: float | None = None
    queries: int | None = None
    kb: float | None = None


@dataclass(frozen=True)
class Row:
    """What a page took."""

    page: str
    floors: float
    queries: int
    kb: float
    bound: Bound

    @property
    def met(self):
        pairs = (
            (self.floors, self.bound.floors),
            (self.queries, self.bound.queries),
            (self.kb, self.bound.kb),
        )
        return all(limit is None or value <= limit for value, limit in pairs)

    def __str__(self):
        b = self.bound
        asked = [f"{b.floors:g} floors"] if b.floors is not None else []
        asked += [f"{b.queries} queries"] if b.queries is not None else []
        asked += [f"{b.kb:g} KB"] if b.kb is not None else []
        return (
            f"{self.page}: {self.floors:.1f} floors, {self.queries} queries, {self.kb:.0f} KB compressed "
            f"(bound {', '.join(asked)}): {'met' if self.met else 'NOT MET'}"
        )


LIST = Bound(2.5)
REVIEW = Bound(4, 14, 60)
BY_SCRIPT = {"HX-Request": "true"}
# what is told of a term of more than a hundred reeds, one student's or a studio's. No floors are asked of it:
# figures are held to 6 times .values_list() of their rows, by tests.bench.term
FIGURES, FOLLOWS = Bound(None, 18, 300), "the figures, which follow by themselves"
MANY, STUDIOS = "queue, 50 waiting of 100,000 rounds", 500
# of lists longer than anybody reads, see tests/many.py
AT_ANY_SIZE = ", at any size"


def bare_urls():
    """The site's addresses, and beside them the floor: one query, fifty rows, one plain template."""
    from types import ModuleType

    from django.http import HttpResponse
    from django.template import engines
    from django.urls import path

    from studio import urls
    from studio.models import Person

    page = engines["django"].from_string(
        "<h1>{{ request.user.name }}</h1><table>{% for p in rows %}<tr><td>{{ p.pk }}</td>"
        "<td>{{ p.name }}</td><td>{{ p.username }}</td><td>{{ p.date_joined }}</td></tr>{% endfor %}</table>"
    )

    def bare(request):
        return HttpResponse(page.render({"rows": Person.objects.order_by("pk")[:50]}, request))

    module = ModuleType("bare_urls")
    module.urlpatterns = [path(FLOOR.strip("/") + "/", bare), *urls.urlpatterns]
    return module


class Site:
    """Who is signed in, and how their pages are asked for."""

    def __init__(self, member):
        from django.test import Client

        self.member = member
        self.client = Client(headers={"host": "127.0.0.1"})
        self.client.force_login(member.person)

    def row(self, name, bound, path, sent=None):
        """Ask for the page and the floor in turn; `sent` is what a page's script sends there."""
        from django.db import connection

        asked = []

        def page():
            return self.client.get(path) if sent is None else self.client.post(path, sent, headers=BY_SCRIPT)

        page()
        with connection.execute_wrapper(lambda run, sql, *rest: asked.append(sql) or run(sql, *rest)):
            answer = page()
        assert answer.status_code == 200, (name, path, answer.status_code)
        took, floor = median_times(page, lambda: self.client.get(FLOOR), rounds=ROUNDS)
        kb = len(gzip.compress(answer.content)) / 1000
        row = Row(name, took / floor, len(asked), kb, bound)
        sys.stdout.write(f"{row}\n")
        sys.stdout.flush()
        return row


def of_the_demo(teacher, student, reed, waiting, draft, lesson, typed):
    """Yield who asks, name, bound and address of the demo's pages."""
    yield student, "desk of a student", LIST, student.to("lessons:desk")
    yield teacher, "desk of a teacher", LIST, teacher.to("lessons:desk")
    yield student, "box", LIST, student.to("reeds:box")
    yield teacher, "reeds", LIST, teacher.to("reeds:reeds")
    yield teacher, "lessons", LIST, teacher.to("lessons:lessons")
    yield teacher, "people", LIST, teacher.to("people")
    yield teacher, "sheets", LIST, teacher.to("reeds:patterns")
    yield student, "a student's term", LIST, student.to("lessons:term")
    yield teacher, "queue", Bound(3, 8), teacher.to("lessons:queue")
    yield student, "draft", Bound(3), student.to("lessons:draft", draft)
    yield student, "autosave with live checks", Bound(1.5), student.to("lessons:save", draft), typed
    yield student, "reed", Bound(3, 12), student.to("reeds:reed", reed)
    yield teacher, "review of the demo", REVIEW, teacher.to("lessons:review", waiting)
    yield teacher, "lesson form", LIST, teacher.to("lessons:lesson_edit", lesson)


def of_a_full_review(teacher, waiting):
    """Yield the review of a round as full as they get; it grows when it is come to, after the demo's own."""
    from lessons.sending.models import Submission
    from tests.full_review import PHOTOS, ROUNDS, TAKES, filled

    row = filled(Submission.objects.get(pk=waiting), teacher)
    name = f"review, {PHOTOS} photos, {ROUNDS} rounds, {TAKES} takes"
    yield teacher, name, REVIEW, teacher.to("lessons:review", row.pk)


def of_the_large_term(big):
    """Yield the same of a studio of 1,000 reeds."""
    from studio.sampled import sample_rows

    sample_rows()
    teacher, student = big.teacher, big.students[0]
    yield teacher, "desk of a teacher, 1,000 reeds", LIST, teacher.to("lessons:desk")
    yield student, "box, 1,000 reeds", LIST, student.to("reeds:box")
    yield teacher, "reeds, 1,000", LIST, teacher.to("reeds:reeds")
    yield teacher, "people, 40", LIST, teacher.to("people")
    yield student, "a student's term, 1,000 reeds", LIST, student.to("lessons:term")
    yield teacher, "queue, 1,000 reeds", Bound(3, 8), teacher.to("lessons:queue")
    term = teacher.to("lessons:term")
    yield teacher, "a studio's term, 1,000 reeds: what comes first", Bound(8, None, 300), term
    yield teacher, f"a studio's term, 1,000 reeds: {FOLLOWS}", FIGURES, f"{term}?whole=1"


def of_long_lists(many):
    """Yield the pages whose lists are longer than anybody reads."""
    from studio.sampled import sample_rows

    sample_rows()
    teacher, student = many.teacher, many.students[0]
    yield student, f"desk of a student{AT_ANY_SIZE}", LIST, student.to("lessons:desk")
    yield teacher, f"desk of a teacher{AT_ANY_SIZE}", LIST, teacher.to("lessons:desk")
    yield student, f"box{AT_ANY_SIZE}", LIST, student.to("reeds:box")
    yield teacher, f"boxes of a studio{AT_ANY_SIZE}", LIST, teacher.to("reeds:box")
    yield student, f"reeds of a student{AT_ANY_SIZE}", LIST, student.to("reeds:reeds")
    yield teacher, f"reeds{AT_ANY_SIZE}", LIST, teacher.to("reeds:reeds")
    yield student, f"lessons of a student{AT_ANY_SIZE}", LIST, student.to("lessons:lessons")
    yield teacher, f"lessons{AT_ANY_SIZE}", LIST, teacher.to("lessons:lessons")
    yield teacher, f"people{AT_ANY_SIZE}", LIST, teacher.to("people")
    yield teacher, f"sheets{AT_ANY_SIZE}", LIST, teacher.to("reeds:patterns")
    term = student.to("lessons:term")
    yield student, f"a student's term{AT_ANY_SIZE}: what comes first", LIST, term
    yield student, f"a student's term{AT_ANY_SIZE}: {FOLLOWS}", FIGURES, f"{term}?whole=1"
    yield teacher, f"queue{AT_ANY_SIZE}", Bound(3, 8), teacher.to("lessons:queue")


def of_many_studios():
    """Yield the queue of one of 500 studios; their rounds are written only when this is come to."""
    from tests.many_studios import many_studios

    teacher = many_studios(STUDIOS)[0]
    yield teacher, MANY, Bound(3, 8), teacher.to("lessons:queue")


def _the_demo():
    from django.db.models import Count

    from lessons.demo.load import load
    from lessons.lesson.models import Lesson
    from lessons.sending.actions import draft_of
    from lessons.sending.models import Submission
    from studio.models import Member
    from studio.sampled import sample_rows

    studio = load()
    rounds = Submission.objects.filter(studio=studio)
    by_takes = rounds.filter(sent_at__isnull=False).annotate(n=Count("takes", distinct=True)).order_by("-n")
    waiting = by_takes[0]
    draft = draft_of(waiting.reed, waiting.student)
    teacher = Member.objects.get(studio=studio, person__username="teacher")
    lesson = Lesson.objects.filter(studio=studio).first()
    sample_rows()
    return teacher, waiting.student, waiting.reed_id, waiting.pk, draft.reed_id, lesson.pk, _typed(draft)


def _typed(draft):
    """What a phone sends while one types: a number that can be, and a question."""
    from lessons.sending.forms import DraftForms

    first = next(one for one in DraftForms(draft).numbers.quantities if one.is_number)
    number = str(round((first.low + first.high) / 2, 1))
    return {"key": str(draft.key), first.key: number, f"{first.key}-method": "ruler", "question": "Even?"}


def measured(words=()):
    from django.test import override_settings

    from studio.garbage import settle
    from tests.big_term import big_term
    from tests.many import many_of_all

    settle()
    demo = _the_demo()
    teacher, waiting = demo[0], demo[3]
    pages = [*of_the_demo(*demo), *of_the_large_term(big_term()), *of_long_lists(many_of_all())]
    many = of_many_studios() if not words or any(word in MANY for word in words) else ()
    pages = chain(pages, of_a_full_review(teacher, waiting), many)
    sites = {}
    with override_settings(ROOT_URLCONF=bare_urls()):
        rows = [
            sites.setdefault(who.pk, Site(who)).row(name, bound, path, *sent)
            for who, name, bound, path, *sent in pages
            if not words or any(word in name for word in words)
        ]
    sys.stdout.write(json.dumps([asdict(row) for row in rows]) + "\n")
    return sum(not row.met for row in rows)


def main(words):
    return int(in_a_database_of_its_own(lambda: measured(words)) > 0)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
