"""Whoever joins a table of a studio's rows joins it by the studio.

What every page asks is looked at by `test_pages_only_read`, which gets them all.
"""

import pytest
from django.apps import apps
from django.db import connection
from django.db.models import F, Subquery
from django.test.utils import CaptureQueriesContext

from lessons.lesson.models import Lesson
from reeds.models import Photo
from reeds.reed.models.reed import Reed
from studio.access import StudioRow
from studio.models import Member
from studio.queues import waiting
from tests.joined import joins, looked_through, without_studio
from tests.world import World

BY_KEY = (
    'SELECT 1 FROM "reeds_photo" INNER JOIN "reeds_reed" ON ("reeds_photo"."reed_id" = "reeds_reed"."id")'
)


def test_a_join_by_the_key_alone_is_seen():
    assert without_studio(BY_KEY) == ['reeds_reed: "reeds_photo"."reed_id" = "reeds_reed"."id"']
    under_other_names = BY_KEY.replace('"reeds_reed"', "U1").replace("JOIN U1", 'JOIN "reeds_reed" U1')
    assert len(without_studio(under_other_names)) == 1
    of_the_photo = ' AND "reeds_photo"."studio_id" = 1)'
    assert len(without_studio(BY_KEY[:-1] + of_the_photo)) == 1


@pytest.mark.parametrize(
    "rows",
    [
        Photo.objects.filter(reed__number=1),
        Reed.objects.filter(photos__state="ready"),  # from the other side
        Photo.objects.filter(reed__owner__person__name="A").select_related("by"),
        Member.objects.order_by("guardian_consent_noted_by__role").annotate(other=F("reeds__number")),
        Reed.objects.exclude(photos__by__role="student"),  # a subquery
        Lesson.objects.filter(present__role="student"),  # by a table between the two
        Photo.objects.filter(submissions__reed__owner__role="student"),
    ],
)
def test_keys_between_rows_of_a_studio_join_by_it(rows):
    assert joins(str(rows.query))
    assert without_studio(str(rows.query)) == []


def keys_within_studios():
    """Every key from a studio's row to a studio's row."""
    return [
        (model, field)
        for model in apps.get_models()
        if issubclass(model, StudioRow)
        for field in model._meta.local_fields
        if field.is_relation and issubclass(field.related_model, StudioRow)
    ]


def test_each_key_within_a_studio_is_of_the_kind_that_says_so():
    keys = keys_within_studios()
    assert len(keys) > 60
    plain = [str(field) for _model, field in keys if field.get_extra_restriction("there", "here") is None]
    assert plain == []


@pytest.mark.django_db
def test_no_row_points_to_another_studios():
    """In the world of the tests; a join by the studio would leave it out."""
    World()
    filled = 0
    for model, field in keys_within_studios():
        pointed = dict(field.related_model._base_manager.values_list("pk", "studio"))
        rows = model._base_manager.exclude(**{field.name: None}).values_list("studio", field.attname)
        filled += bool(rows)
        assert [(studio, pk) for studio, pk in rows if pointed[pk] != studio] == [], field
    assert filled > 30


def asked_by(rows):
    with CaptureQueriesContext(connection) as asked:
        list(rows)
    return asked[0]["sql"]


@pytest.mark.django_db
def test_what_no_index_leads_to_is_seen():
    assert looked_through(asked_by(Reed.objects.filter(staple="tin"))) == ["reeds_reed"]
    tin = Subquery(Reed.objects.filter(staple="tin").values("pk")[:1])  # under another name
    assert looked_through(asked_by(Photo.objects.filter(studio=1).annotate(tin=tin))) == ["reeds_reed"]
    assert looked_through(asked_by(Reed.objects.filter(studio=1))) == []


@pytest.mark.django_db
def test_hands_find_the_next_task_by_an_index():
    kind = "EXPLAIN QUERY PLAN"
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            kind = "EXPLAIN"
            cursor.execute("SET LOCAL enable_seqscan = off")  # of a table so small it would read all
        cursor.execute(f"{kind} {asked_by(waiting(['mail']))}")
        assert "tasks_db_new_ordering_idx" in str(cursor.fetchall())
