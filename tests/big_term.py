"""A term as large as one likes, written by bulk_create: for the bench, and for tests that count queries.

No value is meant to be found again: only how many rows there are, of every kind that the figures read.
"""

from __future__ import annotations

import datetime as dt
import uuid
from dataclasses import dataclass
from itertools import count, product

import numpy as np

from lessons.lesson.models import SetWork
from lessons.sending.models import Submission
from reeds.reed.models.cane import CaneLot
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.playing import PlayingTest, Rating
from reeds.reed.models.reed import Reed, ReedEvent
from reeds.sheet.models.pattern import Offset, Pattern, PatternVersion
from reeds.sheet.starters import SHORT_SCRAPE
from studio.models import Member, Person, Role, Studio, Term

START = dt.datetime(2026, 9, 1, 8, tzinfo=dt.UTC)
DAYS = 100
# quantity, stage, about, spread; who measured and how is added: twelve numbers a reed
NUMBERS = (
    ("tie_length", "tied", 72.0, 0.6, "ruler", "student"),
    ("tie_length", "tied", 72.0, 0.6, "ruler", "teacher"),
    ("tie_length", "tied", 72.0, 0.6, "photo", "student"),
    ("cane_beyond_staple", "tied", 27.0, 0.5, "ruler", "student"),
    ("thread_past_staple", "bound", 0.0, 0.3, "caliper", "student"),
    ("scrape_length", "scraped", 11.0, 0.4, "ruler", "student"),
    ("overall_length", "finishing", 71.0, 0.8, "ruler", "student"),
    ("overall_length", "finishing", 71.0, 0.8, "photo", "student"),
    ("tip_length", "finishing", 2.5, 0.3, "caliper", "student"),
    ("opening_height", "playing", 0.8, 0.15, "photo", "student"),
    ("opening_area", "playing", 4.6, 0.5, "photo", "student"),
    ("a4_cents", "playing", 0.0, 6.0, "recording", "student"),
)
ITEMS = ("crow", "low_notes", "staccato", "third_octave", "long_tone", "tuning")
STEPS = ("tied", "bound", "scraped", "finishing", "playing", "played_out")
_numbered = count()


@dataclass(frozen=True)
class BigTerm:
    """A studio's term and its teacher."""

    term: Term
    teacher: Member
    students: list[Member]


def big_term(students: int = 40, reeds_each: int = 25, seed: int = 1, start: dt.datetime = START) -> BigTerm:
    """Write a studio with so many students, reeds and, of each reed, twelve numbers."""
    rng = np.random.default_rng(seed)
    studio = Studio.objects.create(name=f"Studio {next(_numbered)}")
    teacher, *pupils = _members(studio, students)
    version = _sheet(studio)
    ends_on = (start + dt.timedelta(days=DAYS + 20)).date()
    term = Term.objects.create(studio=studio, name="Autumn", starts_on=start.date(), ends_on=ends_on)
    lots = CaneLot.objects.bulk_create(
        CaneLot(studio=studio, owner=teacher, label=f"bag {k}") for k in range(3)
    )
    reeds = Reed.objects.bulk_create(
        Reed(studio=studio, owner=who, number=k + 1, version=version, cane=lots[k % 3], staple_length=45.0,
             flexibility=("hard", "medium")[k % 2], stage=STEPS[min(k % 9, 5)],
             made_at=start + dt.timedelta(days=k * DAYS / reeds_each))
        for who, k in product(pupils, range(reeds_each))
    )  # fmt: skip
    _events(reeds)
    _numbers(reeds, teacher, rng)
    _ratings(reeds, teacher, rng)
    _rounds(reeds, version)
    Offset.objects.create(studio=studio, student=pupils[0], quantity="tie_length", delta=1.0)
    SetWork.objects.bulk_create(
        SetWork(
            studio=studio,
            student=who,
            words="three blanks",
            due_on=(start + dt.timedelta(days=30)).date(),
            set_at=start + dt.timedelta(days=20),
        )
        for who in pupils
    )
    return BigTerm(term, teacher, pupils)


def _members(studio, students):
    people = Person.objects.bulk_create(
        Person(username=f"of-many-{next(_numbered)}", name=f"Person {k}") for k in range(students + 1)
    )
    roles = [Role.TEACHER, *[Role.STUDENT] * students]
    return Member.objects.bulk_create(
        Member(studio=studio, person=person, role=role) for person, role in zip(people, roles, strict=True)
    )


def _sheet(studio):
    pattern = Pattern.objects.create(studio=studio, name="Short scrape", style="short")
    return PatternVersion.objects.create(
        studio=studio, pattern=pattern, number=1, data=SHORT_SCRAPE.to_json()
    )


def _events(reeds):
    ReedEvent.objects.bulk_create(
        ReedEvent(studio_id=reed.studio_id, reed=reed, kind="stage", to_stage=stage,
                  at=reed.made_at + dt.timedelta(days=3 * step), key=uuid.uuid4())
        for reed in reeds
        for step, stage in enumerate(STEPS[: STEPS.index(reed.stage) + 1])
    )  # fmt: skip


def _numbers(reeds, teacher, rng):
    noise = rng.normal(size=(len(reeds), len(NUMBERS)))
    Measurement.objects.bulk_create(
        (
            Measurement(studio_id=reed.studio_id, reed=reed, quantity=key, value=about + spread * noise[k, j],
                        u=spread / 3, method=method, stage=stage, at=reed.made_at + dt.timedelta(days=j / 4),
                        by=teacher if by == "teacher" else reed.owner)
            for k, reed in enumerate(reeds)
            for j, (key, stage, about, spread, method, by) in enumerate(NUMBERS)
        ),
        batch_size=500,
    )  # fmt: skip


def _ratings(reeds, teacher, rng):
    """Every reed is tried once by its player, every other one once more by the teacher."""
    tries = [(reed, reed.owner, 14) for reed in reeds] + [(reed, teacher, 15) for reed in reeds[::2]]
    tests = PlayingTest.objects.bulk_create(
        PlayingTest(studio_id=reed.studio_id, reed=reed, by=by, at=reed.made_at + dt.timedelta(days=after))
        for reed, by, after in tries
    )
    speaks = rng.integers(1, 6, (len(tests), len(ITEMS)))
    Rating.objects.bulk_create(
        (
            Rating(studio_id=test.studio_id, test=test, item=item, speaks=int(speaks[k, j]))
            for k, test in enumerate(tests)
            for j, item in enumerate(ITEMS)
        ),
        batch_size=500,
    )


def _rounds(reeds, version):
    found = [
        {"check": "limits", "quantity": "tie_length", "outcome": "above", "value": 73.5, "message": "x"},
        {"check": "limits", "quantity": "scrape_length", "outcome": "too_close", "message": "x"},
        {"check": "limits", "quantity": "tip_length", "outcome": "within", "message": "x"},
    ]
    Submission.objects.bulk_create(
        Submission(studio_id=reed.studio_id, reed=reed, student=reed.owner, sent_at=reed.made_at,
                   stage=reed.stage, version=version, findings=found[k % 3 :],
                   answered_at=reed.made_at + dt.timedelta(days=k % 5) if k % 4 else None)
        for k, reed in enumerate(reeds)
    )  # fmt: skip
