"""The data can be split by studio: every table has the column, and keys can begin with it.

A database of many machines, or one in partitions, wants the column by which it splits in every table, in
every key that is there once, and on both sides of what leads from row to row. What has it not is named here.
"""

from __future__ import annotations

from django.apps import apps
from django.db.models import ForeignKey, UniqueConstraint, UUIDField

from studio.access import StudioRow
from studio.models import Person, Studio

HOUSES = ("studio", "reeds", "lessons")
# tables without the column: what only ties two rows of one studio together would be given it by a model of
# its own; what is of the site or of a person stands whole on every machine
WITHOUT = {
    "studio.Person": "somebody may be in several studios",
    "studio.Person_groups": "of a person, and empty",
    "studio.Person_user_permissions": "of a person, and empty",
    "studio.Phone": "of a person, whatever studio tells them something",
    "studio.SentForm": "of a person, and gone within days",
    "studio.WorkerLease": "of a machine",
    "studio.Member_children": "ties two members",
    "studio.Invitation_children": "ties an invitation and members",
    "lessons.Submission_photos": "ties a round and its photos",
    "lessons.Submission_takes": "ties a round and its takes",
    "lessons.Submission_measurements": "ties a round and its numbers",
    "lessons.PlannedComparison_students": "ties a comparison and members",
    "lessons.Lesson_present": "ties a lesson and members",
    "lessons.SetWork_reeds": "ties work and reeds",
}
# keys that are there once in the whole site, and lead to a studio that nobody named
ACROSS = {
    (
        "lessons.CalendarLink",
        ("digest",),
    ): "a calendar's address has no studio in it: a program asks with it alone",
}
OURS = [
    model for house in HOUSES for model in apps.get_app_config(house).get_models(include_auto_created=True)
]
OF_A_STUDIO = [model for model in OURS if issubclass(model, StudioRow)]


def by_label(model):
    return model._meta.label


def keys_of(model):
    """Yield the columns of each key that there may be once, but the primary."""
    meta = model._meta
    yield from (
        (field.name,) for field in meta.local_concrete_fields if field.unique and not field.primary_key
    )
    yield from meta.unique_together
    for one in meta.constraints:
        if isinstance(one, UniqueConstraint):
            assert not one.expressions, f"{by_label(model)}: of {one.name} nothing can be told"
            yield one.fields


def follows(model, name):
    """Whether the studio follows from this column, or it is random and so long that it needs none."""
    field = model._meta.get_field(name)
    leads = isinstance(field, ForeignKey) and issubclass(field.related_model, StudioRow | Studio)
    return leads or isinstance(field, UUIDField)


def test_every_table_has_the_column_or_is_named():
    assert len(OF_A_STUDIO) > 40
    assert {by_label(model) for model in OURS if model not in OF_A_STUDIO} == {"studio.Studio", *WITHOUT}
    assert {model for model in OF_A_STUDIO if model._meta.get_field("studio").null} == set()


def test_what_ties_rows_together_ties_rows_of_a_studio():
    """So that such a table can be given the column from either side."""
    ties = [
        model
        for model in OURS
        if model._meta.auto_created and not by_label(model).startswith("studio.Person")
    ]
    assert len(ties) == 8
    for model in ties:
        ends = [field.related_model for field in model._meta.local_fields if isinstance(field, ForeignKey)]
        assert [end for end in ends if not issubclass(end, StudioRow)] == []


def test_every_key_that_is_there_once_can_begin_with_the_column():
    """Put before a key from which the studio follows, it makes nothing possible that was not."""
    keys = [(model, tuple(key)) for model in OF_A_STUDIO for key in keys_of(model)]
    assert len(keys) > 30
    wrong = {(by_label(model), key) for model, key in keys if not any(follows(model, name) for name in key)}
    assert wrong == set(ACROSS)


def test_whatever_leads_from_row_to_row_can_lead_by_the_column_too():
    led = [
        (model, field)
        for model in OF_A_STUDIO
        for field in model._meta.local_fields
        if isinstance(field, ForeignKey) and not issubclass(field.related_model, StudioRow | Studio)
    ]
    assert [(by_label(model), field.related_model) for model, field in led] == [("studio.Member", Person)]
