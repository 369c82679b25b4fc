"""Grown studios: every table of a studio is copied, nothing leads out of it, and nobody real is beside it."""

from __future__ import annotations

import datetime as dt

import pytest
from django.contrib.auth import authenticate
from django.core.management import CommandError, call_command
from django.db.models import Count

from lessons.demo import people
from lessons.demo.growing.columns import DAYS, Bases, Grown, columns_of
from lessons.demo.growing.grow import grow
from lessons.demo.growing.laid import NUMBERS_EACH, REEDS_AT_MOST, STUDENTS, laid_out
from lessons.demo.growing.tables import HOUSES, NOT_GROWN, Table, models_that_grow, tables_of
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import Reed, ReedEvent
from studio.models import Member, Person, Role, Studio
from tests import factories as make
from tests.lessons.demo.finished import finished_term
from tests.world import World

pytestmark = pytest.mark.django_db
# what neither the world of the tests nor the demo's finished term has: there is nothing to copy
EMPTY = {
    "studio.Invitation_children",
    "reeds.ToolReading",
    "reeds.Knife",
    "reeds.OwnDoubt",
    "reeds.Offset",
    "lessons.Notice",
    "lessons.Reply",
    "lessons.Looking",
    "lessons.AskedQuestion",
    "lessons.LessonNote",
    "lessons.SetWork_reeds",
    "lessons.LetterPicture",
    "lessons.TermReport",
}


def quiet(_words):
    pass


def never():
    raise AssertionError("There is a demo to grow from.")


@pytest.fixture(scope="module")
def made(once):
    """A studio with one of everything and a finished term, which stands for the demo's; two grown of it."""

    def build():
        world = World()
        finished_term(world.studio)
        world.teacher.person.set_password(people.PASSWORD)
        world.teacher.person.save()
        Studio.objects.update(is_demo=True)
        before = Studio.objects.count()
        harvest = grow(2, never, quiet)
        return world, harvest, list(Studio.objects.order_by("pk")[before:])

    return once(build)


@pytest.fixture
def grown(made, anew):
    return anew(made)


def rows_of(studio: Studio) -> dict[type, Table]:
    return {table.model: table for table in tables_of(studio)}


def test_every_table_of_ours_grows_or_is_named_with_a_reason(grown):
    """A new model that has no studio fails here until `NOT_GROWN` has its reason."""
    world, _harvest, (first, second) = grown
    there = {model for model, table in rows_of(world.studio).items() if table.rows}
    for studio in (first, second):
        copied = {model for model, table in rows_of(studio).items() if table.rows}
        assert {model._meta.label for model in there ^ copied} == set()
    assert {model._meta.label for model in models_that_grow() if model not in there} == EMPTY
    assert {label.split(".")[0] for label in NOT_GROWN} <= set(HOUSES)


def test_nothing_of_a_grown_studio_leads_out_of_it(grown):
    _world, _harvest, (studio, other) = grown
    tables, others = rows_of(studio), rows_of(other)
    for model, table in tables.items():
        assert not set(table.rows) & set(others[model].rows)
        for field in table.keys_elsewhere:
            led = {row[field.attname] for row in table.rows.values()} - {None}
            assert led <= set(tables[field.related_model].rows), (model, field.name)


def test_it_has_twenty_students_with_reeds_of_which_enough_is_known(grown):
    _world, harvest, (studio, _other) = grown
    students = Member.objects.filter(studio=studio, role=Role.STUDENT)
    assert students.count() == STUDENTS
    reeds = Reed.objects.filter(studio=studio)
    assert (harvest.studios, harvest.students, harvest.rows[Reed]) == (2, 2 * STUDENTS, 2 * reeds.count())
    assert max(students.annotate(n=Count("reeds")).values_list("n", flat=True)) == REEDS_AT_MOST
    measured = reeds.annotate(n=Count("measurements")).filter(n__gt=0).values_list("n", flat=True)
    assert min(measured) >= NUMBERS_EACH
    assert "2 studios, 40 students" in str(harvest)


def test_its_days_and_numbers_are_others_but_near(grown):
    world, _harvest, (studio, other) = grown
    ours, theirs = (
        list(Measurement.objects.filter(studio=one).order_by("pk").values_list("value", "u", "at"))
        for one in (studio, other)
    )
    pairs = [pair for pair in zip(ours, theirs, strict=True) if pair[0][0] is not None]
    apart = [abs(a[0] - b[0]) for a, b in pairs]
    assert max(apart) > 0
    assert all(gap <= 6 * a[1] + 0.02 for gap, (a, _b) in zip(apart, pairs, strict=True))
    assert len({b[2] - a[2] for a, b in pairs}) == 1
    last = ReedEvent.objects.filter(studio=world.studio).latest("at").at
    first = ReedEvent.objects.filter(studio=studio).latest("at").at
    assert dt.timedelta() <= last - first <= dt.timedelta(days=DAYS)


def test_one_teacher_of_each_signs_in_and_nobody_else(grown):
    _world, _harvest, studios = grown
    for studio in studios:
        able = [one for one in Person.objects.filter(memberships__studio=studio) if one.has_usable_password()]
        (teacher,) = able
        assert teacher.memberships.get().role == Role.TEACHER
        assert authenticate(username=teacher.username, password=people.PASSWORD) == teacher


def test_its_teacher_finds_reeds_and_students_and_makes_what_comes_after_them(grown, as_member):
    _world, _harvest, (studio, _other) = grown
    teacher = Member.objects.filter(studio=studio, role=Role.TEACHER).order_by("pk")[0]
    for name in ("lessons:desk", "lessons:queue", "lessons:term", "people", "reeds:reeds"):
        assert as_member(teacher).get(teacher.to(name)).status_code == 200
    last = Reed.objects.latest("pk").pk
    assert make.ReedFactory(owner=teacher).pk > last


def test_the_same_grows_of_the_same_and_another_in_another_place(grown):
    world, _harvest, _studios = grown

    def planned(number):
        laid = laid_out(world.studio)
        bases = Bases({one.model: 1 for one in laid}, {one.model: len(one.copies) for one in laid})
        grown = Grown(number, 0)
        return {one.model: [column.values(grown) for column in columns_of(one, bases)] for one in laid}

    once, again, other = planned(7), planned(7), planned(8)
    assert once == again
    assert {model for model in once if once[model] != other[model]} >= {Studio, Person, Reed, Measurement}


def test_nothing_grows_beside_a_studio_that_nobody_invented(grown, settings):
    world, _harvest, _studios = grown
    Studio.objects.filter(pk=world.stranger.studio_id).update(is_demo=False)
    before = Studio.objects.count()
    with pytest.raises(CommandError, match="1 of the studios here are not invented"):
        call_command("grow", studios=1)
    Studio.objects.update(is_demo=True)
    with pytest.raises(CommandError, match="At least one studio"):
        call_command("grow", studios=0)
    settings.PRODUCTION = True
    with pytest.raises(CommandError, match="PRODUCTION=1"):
        call_command("grow", studios=1)
    assert Studio.objects.count() == before
