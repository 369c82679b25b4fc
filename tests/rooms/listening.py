"""The one place that calls the product: a take's file in, what a student would be told out."""

from __future__ import annotations

import datetime as dt
import io
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any

from reeds.checks.facts import Reading, ReedFacts
from reeds.checks.findings import Finding
from reeds.checks.registry import run_checks
from reeds.numbers.words import Refused, Stage, Style
from reeds.numbers.words import said as in_words
from reeds.sheet.starters import LONG_SCRAPE, SHORT_SCRAPE
from reeds.take.pages.heard_words import also_words
from reeds.take.processing import Processing
from reeds.take.sound.analysis import analyse
from reeds.take.sound.decode import decode_take
from reeds.take.sound.stored import heard_from_json, heard_to_json
from reeds.take.told import readings_of, told_by
from tests.rooms.phone import file_of
from tests.rooms.truth import RoomTake

# on these the worker asks for no note by name: `reeds.take.tasks` says why
_NO_LIST = ("staccato", "crow", "long_tone")
_SOUND_AS_IT_IS = {"autoGainControl": False, "noiseSuppression": False, "echoCancellation": False}


@dataclass(frozen=True)
class Told:
    """What one take told: the worker's result, or the sentence by which it was refused."""

    result: dict[str, Any] = field(default_factory=dict)
    refused: str = ""
    item_name: str = ""

    @property
    def notes(self) -> list[dict[str, Any]]:
        return self.result.get("notes", [])

    @property
    def item(self) -> dict[str, Any]:
        return self.result.get("item") or {}

    @property
    def sentences(self) -> list[str]:
        """All that is said of the recording in words, and what else was heard in it."""
        return [*map(str, self.result.get("warnings", [])), *also_words(heard_from_json(self.result))]

    def says(self, *words: str) -> bool:
        """Whether one of the sentences has one of the words."""
        return any(word in sentence.lower() for sentence in self.sentences for word in words)


def listened(take: RoomTake, file: io.BytesIO | None = None) -> Told:
    """Do with the take what the worker does with a recording."""
    try:
        decoded = decode_take(file or file_of(take.samples, take.rate, take.codec))
        expect = None if take.item in _NO_LIST else list(take.asked) or None
        heard = analyse(decoded, a4_hz=take.a4_hz, item=take.item, expect=expect)
    except Refused as refusal:  # what else is raised is a breakdown, and no row may count it as refused
        return Told(refused=str(refusal), item_name=take.item)
    return Told(heard_to_json(heard), item_name=take.item)


def _row(told: Told) -> Any:
    """What told_by and readings_of read of a row of the database."""
    return SimpleNamespace(
        item=told.item_name,
        heard=heard_from_json(told.result),
        processing=Processing.from_json(_SOUND_AS_IT_IS),
        stage=Stage.SCRAPED,
        pk=1,
        at=dt.datetime(2026, 1, 1, tzinfo=dt.UTC),
        reed=SimpleNamespace(stage=Stage.SCRAPED),
    )


def readings(told: Told) -> list[Reading]:
    """What becomes a number of the reed."""
    return readings_of(_row(told))


def findings(own: Told, reference: Told | None) -> list[Finding]:
    """What the checks say of it in both styles, to one who may act at once on an airtight, even reed."""
    seen = {
        key: Reading(quantity=key, choice=choice)
        for key, choice in (("closing", "together"), ("airtight", "yes"))
    }
    beside = {} if reference is None else {reference.item_name: told_by(_row(reference))}
    out: list[Finding] = []
    for style, sheet in ((Style.SHORT, SHORT_SCRAPE), (Style.LONG, LONG_SCRAPE)):
        facts = ReedFacts(
            style=style,
            stage=Stage.SCRAPED,
            numbers=seen,
            may_act=True,
            takes={own.item_name: told_by(_row(own))},
            reference_takes=beside,
        )
        out += [found for found in run_checks(facts, sheet) if found.check == "recorded"]
    return out


def sentence(found: Finding) -> str:
    return in_words(found.message, found.params)
