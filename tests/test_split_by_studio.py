"""The data can be split by studio: every table has the column, every key that is there once begins with it.

A database of many machines, or one in partitions, wants the column by which it splits in every table, in
every key that is there once, and on both sides of what leads from row to row. What has it not is named here.
The keys are read from the migrations: what a database has. One in partitions is asked itself by
`tests.services.test_split`.
"""

from __future__ import annotations

import pytest
from django.apps import apps
from django.db import models
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.operations import AddConstraint
from django.db.models import CASCADE, ForeignKey, OneToOneField, UniqueConstraint

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
    ("lessons.calendarlink", ("digest",)): "a calendar's address has no studio in it: a program has it alone",
}
OURS = [
    model for house in HOUSES for model in apps.get_app_config(house).get_models(include_auto_created=True)
]
OF_A_STUDIO = [model for model in OURS if issubclass(model, StudioRow)]


def by_label(model):
    return model._meta.label


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


@pytest.fixture(scope="module")
def migrated():
    """The models as the last migrations leave them."""
    return MigrationLoader(None).project_state()


def keys_of(one):
    """Yield the columns of each key that there may be once, but the primary."""
    yield from ((name,) for name, field in one.fields.items() if field.unique and not field.primary_key)
    yield from map(tuple, one.options.get("unique_together", ()))
    for key in one.options["constraints"]:
        if isinstance(key, UniqueConstraint):
            assert not key.expressions, f"{one.name}: of {key.name} nothing can be told"
            yield key.fields


def keys_of_studios(state):
    """Return the columns of every key of every table of studios' rows."""
    tables = (state.models[model._meta.app_label, model._meta.model_name] for model in OF_A_STUDIO)
    return [(f"{one.app_label}.{one.name_lower}", key) for one in tables for key in keys_of(one)]


def not_by_studio(keys):
    return {(name, key) for name, key in keys if key[0] != "studio"}


def test_every_key_that_is_there_once_begins_with_the_studio(migrated):
    keys = keys_of_studios(migrated)
    assert len(keys) == len(set(keys)) > 35
    assert not_by_studio(keys) == set(ACROSS)


@pytest.mark.parametrize(
    ("field", "constraint", "seen"),
    [
        (models.CharField(unique=True), None, ("other",)),
        (OneToOneField("reeds.Reed", CASCADE), None, ("other",)),
        (models.CharField(), UniqueConstraint(fields=["reed", "other"], name="x"), ("reed", "other")),
        (models.CharField(), UniqueConstraint(fields=["other", "studio"], name="x"), ("other", "studio")),
    ],
)
def test_a_key_that_begins_otherwise_is_seen(migrated, field, constraint, seen):
    spoilt = migrated.clone()
    spoilt.add_field("reeds", "photo", "other", field, preserve_default=True)
    if constraint:
        AddConstraint("photo", constraint).state_forwards("reeds", spoilt)
    assert not_by_studio(keys_of_studios(spoilt)) == {*ACROSS, ("reeds.photo", seen)}


def test_whatever_leads_from_row_to_row_can_lead_by_the_column_too():
    led = [
        (model, field)
        for model in OF_A_STUDIO
        for field in model._meta.local_fields
        if isinstance(field, ForeignKey) and not issubclass(field.related_model, StudioRow | Studio)
    ]
    assert [(by_label(model), field.related_model) for model, field in led] == [("studio.Member", Person)]
