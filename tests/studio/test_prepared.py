"""Queries that are written once: they find what the query written anew finds, whoever asks for whatever."""

import datetime as dt

import pytest
from django.db import DEFAULT_DB_ALIAS, connections
from django.db.models.sql.compiler import SQLCompiler
from django.utils import timezone

from reeds.reed.models.reed import Reed
from studio.models import Member
from studio.prepared import KEPT, prepared
from tests import factories as make


def seen(member):
    return Reed.objects.visible_to(member).order_by("pk")


def among(member, pks):
    return seen(member).filter(pk__in=pks)


def made_from(member, day, moment, stage):
    return (
        seen(member)
        .filter(made_at__date__gte=day, made_at__lt=moment, stage=stage)
        .values_list("pk", flat=True)
    )


@pytest.fixture
def reeds(student, other_student):
    own = [make.ReedFactory(owner=student, stage="tied") for _ in range(5)]
    return [*own, make.ReedFactory(owner=other_student, version=own[0].version, stage="bound")]


@pytest.fixture
def guardian(student):
    Member.objects.filter(pk=student.pk).update(under_age=True)
    return make.guardian(student)


@pytest.fixture
def written(monkeypatch):
    """How often Django wrote the SQL of a query."""
    kept, times = SQLCompiler.as_sql, []
    monkeypatch.setattr(SQLCompiler, "as_sql", lambda *a, **k: times.append(1) or kept(*a, **k))
    vars(connections[DEFAULT_DB_ALIAS]).pop(KEPT, None)
    return times


def test_each_sees_what_the_query_shows_them(student, other_student, teacher, stranger, guardian, reeds):
    shown = prepared(seen)
    for _again in range(2):
        for member in (student, other_student, teacher, stranger, guardian):
            assert shown(member) == list(seen(member))
    assert [len(shown(member)) for member in (student, teacher, stranger, guardian)] == [5, 6, 0, 5]


def test_times_are_those_that_were_kept(student):
    """To the microsecond and without any, in summer and in winter, and none at all."""
    kept = [dt.datetime(2026, 7, 1, 12, 0, 0, 7, dt.UTC), dt.datetime(2026, 1, 31, 23, 59, 59, 0, dt.UTC)]
    for at in kept:
        make.ReedFactory(owner=student, made_at=at)
    found = prepared(seen)(student)
    assert [(one.made_at, one.taken_out_at) for one in found] == [(at, None) for at in kept]
    assert {one.made_at.tzinfo for one in found} == {dt.UTC}


def test_it_is_written_once_for_each_role(student, other_student, teacher, reeds, written):
    shown = prepared(seen)
    for member in (student, other_student, student, teacher, teacher):
        shown(member)
    assert len(written) == 2


def test_lists_of_any_length(student, reeds, written):
    shown = prepared(among)
    for length in range(1, 7):
        some = tuple(reed.pk for reed in reeds[:length])
        assert [reed.pk for reed in shown(student, some)] == list(some[:5])
    assert len(written) == 4  # for 1, 2, 4 and 8
    assert shown(student, ()) == []
    assert shown(student, (2**64,)) == []


def test_days_times_and_words(student, reeds):
    shown = prepared(made_from)
    today, now = timezone.localdate(), timezone.now()
    for day in (today - dt.timedelta(days=2), today + dt.timedelta(days=2)):
        for moment in (now, now - dt.timedelta(days=1)):
            for stage in ("tied", "bound"):
                given = (student, day, moment, stage)
                assert shown(*given) == list(made_from(*given))
    assert len(shown(student, today - dt.timedelta(days=2), now, "tied")) == 5


def test_a_time_of_its_own_is_refused(student):
    shown = prepared(lambda member: seen(member).filter(made_at__lt=timezone.now()))
    with pytest.raises(ValueError, match="This time would stay"):
        shown(student)


def test_what_is_given_and_not_used_is_refused(student):
    with pytest.raises(ValueError, match="no part of the query"):
        prepared(lambda member, _number: seen(member))(student, 3)


def test_what_would_ask_further_is_refused(student):
    with pytest.raises(ValueError, match="no part of the query"):
        prepared(lambda member: seen(member).prefetch_related("events"))(student)


def test_a_number_that_no_database_holds_finds_nothing(student, reeds):
    shown = prepared(lambda member, pk: seen(member).filter(pk=pk))
    assert [len(shown(student, pk)) for pk in (reeds[0].pk, 10**30, reeds[1].pk)] == [1, 0, 1]
