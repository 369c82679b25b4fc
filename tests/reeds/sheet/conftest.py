"""A studio that has added a quantity of its own, and a reed whose sheet has it."""

from __future__ import annotations

import pytest

from reeds.checks.sheet import Limit, Sheet
from reeds.sheet.models.own import OwnQuantity
from reeds.sheet.starters import SHORT_SCRAPE
from tests import factories as make
from tests.reeds.sheet.own import add


@pytest.fixture
def desk(teacher, as_member):
    return as_member(teacher)


@pytest.fixture
def angle(desk, teacher):
    add(desk, teacher)
    return OwnQuantity.objects.get(studio=teacher.studio)


@pytest.fixture
def reed(student, teacher, angle):
    """A reed whose sheet has the angle at 20 to 40 degrees."""
    rows = (*SHORT_SCRAPE.limits, Limit(quantity=angle.key, low=20.0, aim=30.0, high=40.0))
    known = OwnQuantity.objects.filter(studio=teacher.studio).known()
    data = Sheet(SHORT_SCRAPE.style, rows, known).to_json()
    version = make.VersionFactory(pattern__studio=teacher.studio, data=data)
    return make.ReedFactory(owner=student, stage="finishing", version=version)
