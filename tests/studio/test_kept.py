"""Kept files where nginx sends them: their pages answer with the place alone, and only to whom they may."""

from pathlib import Path
from urllib.parse import unquote

import pytest
from django.test import Client

from studio.settings import BASE_DIR
from tests.world import KNOWN, World

pytestmark = pytest.mark.django_db
# the addresses of files that the world has; letters and reports send theirs in the same way
OF_FILES = {
    "lessons:demonstration_photo",
    "lessons:demonstration_sound",
    "lessons:export_file",
    "lessons:voice_sound",
    "reeds:photo",
    "reeds:flat",
    "reeds:take_sound",
}


def place_of(answer):
    return unquote(answer.headers.get("X-Accel-Redirect", ""))


def test_every_file_is_left_to_nginx_and_nobody_else_is_told_its_place(settings):
    world = World()
    settings.X_ACCEL = "/kept/"
    owner, stranger = Client(), Client()
    owner.force_login(world.student.person)
    stranger.force_login(world.stranger.person)
    addresses = [address for address in KNOWN if address.name in OF_FILES]
    assert {address.name for address in addresses} == OF_FILES
    for address in addresses:
        answer = owner.get(address.of(world))
        place = place_of(answer)
        assert place.startswith("/kept/"), address.name
        assert (Path(settings.MEDIA_ROOT) / place.removeprefix("/kept/")).is_file(), address.name
        assert (answer.content, answer.streaming) == (b"", False)
        assert place_of(stranger.get(address.of(world))) == "", address.name


def test_no_other_view_sends_a_file():
    """It would be sent past nginx: `studio/kept.py` knows how, and for recordings `streamed`."""
    sends = ("FileResponse(", "StreamingHttpResponse(")
    found = {
        str(file.relative_to(BASE_DIR))
        for part in ("studio", "reeds", "lessons")
        for file in (BASE_DIR / part).rglob("*.py")
        if any(word in file.read_text() for word in sends)
    }
    assert found == {"studio/kept.py", "reeds/take/streamed.py"}
