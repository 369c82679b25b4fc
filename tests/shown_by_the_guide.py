"""What must come of the guide's quantity, check and page, run by test_guide in its copy of the tree.

Whatever they are called: BEFORE names what was there without them.
"""

from __future__ import annotations

import html
import json
import os

import pytest
from django.test import Client

from reeds.checks.registry import CHECKS
from reeds.numbers.registry import QUANTITIES, REGISTRY
from reeds.numbers.words import Stage
from reeds.reed.findings import findings_of
from reeds.wording import filled
from tests import factories as make
from tests.reeds.form import fields_of
from tests.world import PAGES, World, may_open

pytestmark = pytest.mark.django_db
BEFORE = json.loads(os.environ["BEFORE"])
(QUANTITY,) = [quantity for key, quantity in QUANTITIES.items() if key not in BEFORE["quantities"]]
(CHECK,) = [check for check in CHECKS if check.key not in BEFORE["checks"]]
(PAGE,) = set(PAGES) - set(BEFORE["pages"])


def client_of(member):
    client = Client()
    client.force_login(member.person)
    return client


@pytest.fixture
def reed():
    return make.ReedFactory(stage=QUANTITY.stage)


def note(reed, value):
    """Type the quantity on the page of numbers; return the reed's page as its owner then sees it."""
    client, address = client_of(reed.owner), reed.owner.to("reeds:numbers", reed.pk)
    fields = fields_of(client.get(address))
    assert fields[QUANTITY.key] == "", "it is asked at its stage"
    answer = client.post(address, fields | {QUANTITY.key: f"{value:g} {QUANTITY.unit}"}, follow=True)
    assert answer.status_code == 200
    return answer.content.decode()


def row_of(reed):
    return reed.version.sheet.limit_for(QUANTITY.key, reed.staple_length, reed.flexibility)


def test_it_is_asked_at_its_stage_and_at_no_other():
    asked = [stage for stage in Stage if QUANTITY in REGISTRY.asked_at(stage, QUANTITIES)]
    assert asked == list(QUANTITY.stages)


def test_a_number_within_its_row_is_kept_with_its_doubt_and_nothing_is_to_be_done(reed):
    page = note(reed, row_of(reed).aim)
    kept = reed.measurements.get(quantity=QUANTITY.key)
    assert (kept.value, kept.u > 0) == (row_of(reed).aim, True)
    assert "Nothing to act on." in page
    assert QUANTITY.name.lower() in page.lower()


def test_a_number_outside_its_row_is_found(reed):
    assert "is above the high limit" in note(reed, row_of(reed).high + 5)


def test_the_check_of_the_guide_speaks_up_on_the_page(reed):
    reed.staple_length = QUANTITY.high - 5  # shorter than what is typed: the guide's contradiction
    reed.save()
    page = note(reed, QUANTITY.high)
    (found,) = [found for found in findings_of(reed) if found.check == CHECK.key]
    assert filled(found.message, found.params) in html.unescape(page)


def test_the_page_is_there_for_whom_the_example_says_and_for_nobody_else():
    world = World()
    path = world.student.to(PAGE, *PAGES[PAGE].args(world))
    allowed = may_open(PAGES[PAGE], world)
    assert allowed
    for member in (world.student, world.teacher, world.fellow, world.stranger):
        expected = 200 if member in allowed else 404
        assert client_of(member).get(path).status_code == expected, member.role
