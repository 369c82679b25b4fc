"""The cast of lists of reeds: a studio that has a measuring sheet, since reeds are made by one."""

import pytest

from tests import factories as make


@pytest.fixture
def version(teacher):
    return make.VersionFactory(pattern__studio=teacher.studio, pattern__name="Short scrape")


@pytest.fixture
def student(teacher, version):
    return make.student(studio=teacher.studio)
