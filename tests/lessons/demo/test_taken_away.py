"""A demo that is taken away leaves nothing behind, whatever rows hold files."""

from __future__ import annotations

from pathlib import Path

import pytest

from lessons.demo.load import remove
from reeds.sweep import HELD
from studio.models import Studio
from tests import factories as make
from tests.world import World

pytestmark = pytest.mark.django_db


def test_its_files_go_with_it_and_no_others(settings):
    world = World()
    make.ready_photo(make.ReedFactory(owner=make.student(studio=world.stranger.studio)))
    kept = set(Path(settings.MEDIA_ROOT).rglob(f"{world.stranger.studio_id}/*"))
    folders = {path.parent.parent.name for path in Path(settings.MEDIA_ROOT).rglob("*") if path.is_file()}
    assert len(kept) == 3
    assert folders >= set(HELD) - {"logs", "letters"}  # of those the world has no file
    Studio.objects.filter(pk=world.studio.pk).update(is_demo=True)
    assert remove() == 1
    assert {path for path in Path(settings.MEDIA_ROOT).rglob("*") if path.is_file()} == kept
