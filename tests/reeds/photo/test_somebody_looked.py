"""What is proposed on a photo is no number yet: somebody looks at it and keeps it, or nothing follows."""

from __future__ import annotations

import ast
import json
from pathlib import Path

import pytest

from reeds.checks.findings import spread
from reeds.photo.actions import card as card_actions
from reeds.photo.models.measuring import LookState
from reeds.photo.tasks.look import look_at_photo
from reeds.reed.facts import facts_of
from reeds.reed.findings import findings_of
from reeds.reed.models.measurement import Measurement
from tests import factories as make
from tests.on_card import photo_row, simulated
from tests.reeds.photo.test_opening_page import photo_of
from tests.reeds.photo.test_opening_page import simulated as opening

TASKS = Path(__file__).parents[3] / "reeds" / "photo" / "tasks"


@pytest.fixture
def reed(student):
    return make.ReedFactory(owner=student, stage="finishing", staple_length=47.0)


@pytest.fixture
def looked_at(reed):
    photo = photo_row(reed, simulated(7))
    look_at_photo.func(photo.pk)
    return photo


def keep(as_member, photo, **more):
    member = photo.reed.owner
    card = card_actions.new_card(member)
    card_actions.note_bar(card, member, 100.0, "caliper")
    row = photo.measuring
    points = {name: place[:2] for name, place in row.proposed.items() if name != "back_start"}
    form = {"points": json.dumps(points), "scale": "card", "card": card.pk, "moisture": "wet", **more}
    return as_member(member).post(member.to("reeds:keep_lengths", photo.pk), form, HTTP_HX_REQUEST="true")


def about_photos(reed):
    """Findings on any quantity that a photo can tell, and whether their step takes something off."""
    told = {"tie_length", "overall_length", "scrape_length", "tip_length", "tip_width", "unevenness"}
    return [one for one in spread(findings_of(reed)) if one.quantity in told and one.value is not None]


def test_proposals_alone_are_no_numbers_and_lead_to_no_finding(reed, looked_at):
    row = looked_at.measuring
    assert row.state == LookState.FOUND
    assert {"staple_foot", "tip"} <= set(row.proposed)
    assert not Measurement.objects.exists()
    assert not facts_of(reed, reed.owner).numbers
    assert about_photos(reed) == []


def test_an_outline_that_was_found_is_no_number_and_leads_to_no_side_to_scrape(reed):
    photo = photo_of(reed, opening().rgb)
    look_at_photo.func(photo.pk)
    assert photo.measuring.outline is not None
    assert not Measurement.objects.exists()
    assert not any(one.irreversible or one.waits for one in findings_of(reed))


def test_opening_the_measuring_page_keeps_nothing(looked_at, student, as_member):
    assert as_member(student).get(student.to("reeds:measure", looked_at.pk)).status_code == 200
    assert not Measurement.objects.exists()


def test_a_person_who_looked_and_kept_is_named_and_only_what_was_ticked_counts(reed, looked_at, as_member):
    assert keep(as_member, looked_at, keep=["overall_length"]).status_code == 200
    (row,) = Measurement.objects.all()
    assert (row.quantity, row.by) == ("overall_length", reed.owner)
    looked_at.measuring.refresh_from_db()
    assert looked_at.measuring.measured_by == reed.owner
    assert {one.quantity for one in about_photos(reed)} == {"overall_length"}


def test_without_a_tick_nothing_is_kept(looked_at, as_member):
    assert keep(as_member, looked_at).status_code == 422
    assert not Measurement.objects.exists()


def test_no_task_of_the_worker_can_write_a_number():
    """Neither the table of numbers nor what writes to it is known to a module that runs without a person."""
    for module in TASKS.glob("*.py"):
        names = {
            name.name
            for node in ast.walk(ast.parse(module.read_text()))
            if isinstance(node, ast.ImportFrom | ast.Import)
            for name in node.names
        }
        assert not names & {"Measurement", "record", "keep_lengths", "keep_opening"}, module.name
