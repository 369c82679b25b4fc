"""The demo: an invented studio that is the same at every load and goes away whole."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.apps import apps
from django.core.files.storage import default_storage
from django.core.management import CommandError, call_command

from lessons.models import Submission
from reeds.checks import Outcome
from reeds.models import Measurement, Photo, Reed
from studio.models import Member, Person, Studio
from tests import factories as make

OFTEN = (Outcome.WITHIN, Outcome.ABOVE, Outcome.BELOW, Outcome.TOO_CLOSE, Outcome.CONTRADICTION)


@pytest.fixture
def demo(db):
    call_command("demo", verbosity=0)
    return Studio.objects.get(is_demo=True)


def test_it_has_a_term_of_believable_reeds_and_no_photo_of_the_student_under_age(demo):
    assert Reed.objects.filter(studio=demo).count() == 60
    assert Member.objects.filter(studio=demo).students().count() == 6
    rounds = Submission.objects.filter(studio=demo)
    assert 5 <= rounds.waiting().count() <= 20
    outcomes = {finding.outcome for row in rounds for finding in row.found}
    assert set(OFTEN) <= outcomes
    young = Member.objects.get(studio=demo, under_age=True)
    assert not young.may_send_pictures
    assert not Photo.objects.filter(reed__owner=young).exists()
    assert rounds.filter(student=young).exists()


def numbers():
    rows = Measurement.objects.filter(studio__is_demo=True)
    rows = rows.order_by("reed__owner__person__username", "reed__number", "pk")
    return list(rows.values_list("quantity", "value", "word"))


def test_it_goes_away_whole_leaves_others_alone_and_comes_back_the_same(demo):
    first = numbers()
    other = make.ReedFactory()
    call_command("demo", remove=True, verbosity=0)
    for model in [*apps.get_app_config("reeds").get_models(), *apps.get_app_config("lessons").get_models()]:
        if hasattr(model, "studio_id"):
            assert not model._default_manager.filter(studio=demo.pk).exists(), model
    assert Reed.objects.get() == other
    assert Person.objects.count() == 1
    left = [path for path in Path(default_storage.path("")).rglob("*") if path.is_file()]
    assert left == []
    call_command("demo", verbosity=0)
    assert numbers() == first


def test_it_is_not_loaded_in_production(db, settings):
    settings.PRODUCTION = True
    with pytest.raises(CommandError, match="known to all"):
        call_command("demo")


def test_a_taken_user_name_is_said(db):
    make.PersonFactory(username="teacher")
    with pytest.raises(CommandError, match="they are taken: teacher"):
        call_command("demo")


def test_where_there_is_a_studio_none_is_added(db):
    make.StudioFactory()
    call_command("demo", if_empty=True)
    assert Studio.objects.count() == 1
