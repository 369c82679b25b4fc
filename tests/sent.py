"""What people of the world send on an ordinary day, one thing after the other."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile

from studio.models import Member
from tests import factories as make
from tests.cast import World


@dataclass(frozen=True)
class Sent:
    """One thing that is sent: by whom, where to, and how it is answered.

    Attributes
    ----------
    form : dict
        The fields, or what is sent as JSON.
    status : int
        What it is answered with where all is well.
    """

    who: Member
    name: str
    of: int
    form: dict[str, Any] = field(default_factory=dict)
    status: int = 302
    more: dict[str, Any] = field(default_factory=dict)

    def by(self, client: Any) -> Any:
        """Send it; return the answer."""
        return client.post(self.who.to(self.name, self.of), self.form, **self.more)


SCRIPT = {"headers": {"hx-request": "true"}}
AS_JSON = {"content_type": "application/json"}


def a_round(world: World) -> list[Callable[[], Sent]]:
    """Return a draft typed, a photo and a recording added, sent, answered with a mark, and thanked for.

    Each is made when its turn comes: files are read once.
    """
    who, reed, key = world.student, world.begun.pk, str(world.draft.key)
    typed = {"key": key, "tie_length": "72.5", "question": "Too long?"}
    teacher, waiting = world.teacher, world.draft.pk
    return [
        lambda: Sent(who, "lessons:save", reed, typed, 200, SCRIPT),
        lambda: Sent(who, "lessons:photo", reed, {"key": key, **_photo()}, 200, SCRIPT),
        lambda: Sent(who, "lessons:take", reed, {"key": key, **_take()}, 200, SCRIPT),
        lambda: Sent(who, "lessons:go", reed, {**typed, "plays-crow": "4"}),
        lambda: Sent(who, "lessons:round_back", waiting),
        lambda: Sent(who, "lessons:go", reed, typed),
        lambda: Sent(teacher, "lessons:looking", waiting, {}, 200, SCRIPT),
        lambda: Sent(teacher, "lessons:mark", waiting, _mark(world), 200, AS_JSON),
        lambda: Sent(teacher, "lessons:keep", waiting, {"words": "Well"}, 200),
        lambda: Sent(teacher, "lessons:answer", waiting, {"words": "Well tied.", "decision": "rest"}),
        lambda: Sent(who, "lessons:read", waiting),
        lambda: Sent(who, "lessons:reply", waiting, {"words": "Thanks", "key": str(uuid.uuid4())}),
        lambda: Sent(who, "reeds:numbers", reed, {"tie_length": "72.4", world.own.key: "30"}),
        lambda: Sent(teacher, "reeds:numbers", reed, {"tie_length": "72.3"}),
    ]


def _photo() -> dict[str, Any]:
    file = SimpleUploadedFile("reed.jpg", make.picture(), content_type="image/jpeg")
    return {"photo": file, "photo-key": str(uuid.uuid4())}


def _take() -> dict[str, Any]:
    file = SimpleUploadedFile("take.wav", make.tone(), "audio/wav")
    return {"take": file, "take-key": str(uuid.uuid4()), "item": "tuning"}


def _mark(world: World) -> dict[str, Any]:
    return {"key": str(uuid.uuid4()), "photo": world.draft_photo.pk, **make.drawn()}
