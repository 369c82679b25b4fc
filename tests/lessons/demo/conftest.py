"""The demo's finished term, written once a module."""

from __future__ import annotations

import pytest

from tests.lessons.demo.finished import finished_term


@pytest.fixture(scope="module")
def written(once):
    return once(finished_term)


@pytest.fixture
def finished(written, anew):
    return anew(written)
