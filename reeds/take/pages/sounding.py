"""Takes ready for a page: picture, figures with their doubt, what differs from the reference reed."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from reeds.checks.sheet import Limit
from reeds.numbers.measured import Measured
from reeds.numbers.words import Flexibility, Stage
from reeds.sheet.models.pattern import PatternVersion
from reeds.take.models import Take, TakeState
from reeds.take.pages.heard_words import also_words, cents_words, item_words, ms_words, number_words, with_u
from reeds.take.pages.noted import Noted, PassageDrawn, drawn_passages
from reeds.take.processing import Processing
from reeds.take.sound.heard import Heard, HeardNote
from reeds.take.sound.picture import PictureScale, SoundPicture, picture_of, scale_of
from reeds.take.sound.quality import CLIPPED, TOO_NOISY
from reeds.take.sound.stored import gist_from_json
from reeds.take.told import SITTING, WITHOUT_ATTACK
from studio.access import Seer
from studio.models import Member
from studio.prepared import prepared

_NOTHING = HeardNote(None, None, sounded=False)


@dataclass(frozen=True)
class Figures:
    """One note of the table; '' for what is not there or cannot be told."""

    name: str
    sounded: bool
    heard: str = ""
    cents: str = ""
    cents_beside: str = ""
    response: str = ""
    response_beside: str = ""
    steadiness: str = ""
    drift: str = ""
    level: str = ""


@dataclass(frozen=True)
class DrawnTake:
    """A take in a picture, at the scale of those it is laid under or over."""

    take: Take
    picture: SoundPicture


@dataclass
class ShownTake:
    """One take with what lies beside it: the reference reed in the same sitting, the reed before."""

    take: Take
    reference: Take | None = None
    before: Take | None = None
    noted: Noted | None = None

    @cached_property
    def _heard(self) -> Heard:
        return self.take.heard

    @cached_property
    def _heard_of_reference(self) -> Heard:
        return Heard() if self.reference is None else self.reference.heard

    @cached_property
    def _scale(self) -> PictureScale:
        return scale_of(one.heard for one in (self.take, self.reference, self.before) if one is not None)

    @cached_property
    def drawn(self) -> DrawnTake:
        return DrawnTake(self.take, _picture(self.take, self._scale))

    @property
    def spans(self) -> list[PassageDrawn]:
        """The passages of which something is said, as they lie on its picture."""
        return [] if self.noted is None else drawn_passages(self.noted.passages, self._scale)

    @property
    def has_words(self) -> bool:
        """Whether somebody wrote something of one of its passages."""
        return self.noted is not None and bool(self.noted.passages)

    @cached_property
    def under(self) -> list[DrawnTake]:
        """The pictures under it, at the same scale, the reference first."""
        rows = [one for one in (self.reference, self.before) if one is not None]
        return [DrawnTake(one, _picture(one, self._scale)) for one in rows]

    @cached_property
    def hides_level(self) -> bool:
        """Whether level, range and soft attacks cannot be told of it."""
        return self.take.processing.hides_level

    @cached_property
    def rows(self) -> list[Figures]:
        beside = {note.name: note for note in self._heard_of_reference.notes}
        return [_figures(note, beside.get(note.name, _NOTHING), self) for note in self._heard.notes]

    @property
    def hides_response(self) -> bool:
        """Whether the response of one of the two reeds that are compared cannot be told."""
        return self.hides_level or (self.reference is not None and self.reference.processing.hides_level)

    @property
    def hides_loudness(self) -> bool:
        """Whether the level of a note cannot be told: an overloaded recorder hides that too."""
        return self.hides_level or CLIPPED in self._heard.warnings

    @cached_property
    def in_words(self) -> list[str]:
        """What the item as a whole gave, what differs from the reference first; nothing in noise."""
        if TOO_NOISY in self._heard.warnings:
            return []
        return item_words(self._heard.item, self._heard_of_reference.item, hides_level=self.hides_level)

    @property
    def cannot_say(self) -> list[str]:
        """Why something cannot be told, and what else was heard, one sentence each."""
        said = [*(_(warning) for warning in self._heard.warnings), *also_words(self._heard)]
        return [*said, processing_words(self.take.processing)] if self.hides_level else said

    @property
    def quality(self) -> str:
        """How loud the reed was over the noise, in words."""
        snr_db = self._heard.quality.snr_db
        return "" if snr_db is None else _("%(db)s dB over the noise") % {"db": number_words(snr_db, 0)}


@dataclass(frozen=True)
class TakeInWords:
    """One take in a line of words, beside the reference reed in the same sitting."""

    take: Take
    reference: Take | None = None

    @cached_property
    def in_words(self) -> list[str]:
        """As of a `ShownTake`."""
        if not self.take.is_ready:
            return []
        item, warnings = gist_from_json(self.take.result)
        other = None if self.reference is None else gist_from_json(self.reference.result)[0]
        hides_level = self.take.processing.hides_level
        return [] if TOO_NOISY in warnings else item_words(item, other, hides_level=hides_level)

    @property
    def cannot_say(self) -> list[str]:
        """As of a `ShownTake`."""
        return ShownTake(self.take).cannot_say


def processing_words(processing: Processing) -> str:
    """Say that the recorder may have changed the level by itself, and what cannot be told for it."""
    if processing.was_on:
        return _(
            "The phone or browser changed the sound by itself: level, range and soft attacks cannot be told."
        )
    return _(
        "Whether the phone or browser changed the sound by itself is not known: "
        "level, range and soft attacks cannot be told."
    )


def _figures(note: HeardNote, other: HeardNote, of: ShownTake) -> Figures:
    if not note.sounded:
        return Figures(note.name or "", sounded=False, heard=note.heard or "")
    response = None if of.take.item in WITHOUT_ATTACK else note.response_ms
    later = _less(response, other.response_ms)
    return Figures(
        name=note.name or "",
        sounded=True,
        cents=cents_words(note.cents),
        cents_beside=cents_words(_less(note.cents, other.cents)),
        response="" if of.hides_level else ms_words(response),
        response_beside="" if of.hides_response else ms_words(later, sign=True),
        steadiness=with_u(note.steadiness_cents),
        drift=cents_words(note.drift_cents_per_s),
        level="" if of.hides_loudness else with_u(note.level_db),
    )


def _less(own: Measured | None, other: Measured | None) -> Measured | None:
    return None if own is None or other is None else own - other


def _picture(take: Take, scale: PictureScale) -> SoundPicture:
    return picture_of(take.contours, take.heard, scale, _limits(take))


def _limits(take: Take) -> tuple[float | None, float | None] | None:
    """The sheet's limits of the tuning note; the other items have none in cents."""
    if take.item != "tuning":
        return None
    reed = take.reed
    limit: Limit | None = reed.version.sheet.limit_for(
        "a4_cents", reed.staple_length, Flexibility(reed.flexibility), Stage(take.stage or reed.stage)
    )
    return None if limit is None else (limit.low, limit.high)


def shown_one(take: Take, said: Mapping[int, Noted] | None = None) -> ShownTake:
    """Return one take with what lies beside it."""
    return shown([take], said)[0]


def take_page(take: Take, member: Member, said: Mapping[int, Noted]) -> dict[str, object]:
    """Return what the page of one take shows."""
    is_own = take.reed.owner_id == member.pk
    return {"heard": shown_one(take, said), "reed": take.reed, "is_own": is_own}


def _share_versions(takes: Iterable[Take]) -> None:
    """Let takes on one version of a sheet share its row, so that the sheet is read once."""
    versions: dict[int, PatternVersion] = {}
    for take in takes:
        take.reed.version = versions.setdefault(take.reed.version_id, take.reed.version)


def shown(takes: Sequence[Take], said: Mapping[int, Noted] | None = None) -> list[ShownTake]:
    """Return takes of one player with what lies beside each, in a number of queries that does not grow.

    `said` is what somebody noted of them, by their keys.
    """
    heard = [take for take in takes if take.is_ready]
    others = _others(heard) if heard else []
    chosen = {take.pk: _beside(take, others) for take in heard}
    wanted = {pk for pair in chosen.values() for pk in pair if pk}
    rows = Take.objects.filter(pk__in=wanted).select_related("reed__version")
    by_pk = {row.pk: row for row in rows} if wanted else {}
    _share_versions([*takes, *by_pk.values()])
    pairs = {pk: (by_pk.get(ref or 0), by_pk.get(before or 0)) for pk, (ref, before) in chosen.items()}
    notes = said or {}
    return [ShownTake(take, *pairs.get(take.pk, (None, None)), noted=notes.get(take.pk)) for take in takes]


def beside_reference(takes: Sequence[Take], member: Member) -> list[TakeInWords]:
    """Return takes of one player, each beside the reference reed's of its sitting, to be told in a line."""
    heard = [take for take in takes if take.is_ready and not take.reed.is_reference]
    moments = [take.at for take in heard]
    of_reference = (
        _of_reference(member, heard[0].reed.owner_id, min(moments) - SITTING, max(moments) + SITTING)
        if heard
        else []
    )
    by_pk = {take.pk: next(filter(_same_sitting(take), of_reference), None) for take in heard}
    return [TakeInWords(take, by_pk.get(take.pk)) for take in takes]


@prepared
def _of_reference(_member: Seer, owner: int, since: dt.datetime, until: dt.datetime) -> QuerySet[Take]:
    """What was heard of a player's reference reeds in a while, the newest first."""
    of_reference = Take.objects.heard().filter(
        reed__owner=owner, reed__is_reference=True, reed__taken_out_at__isnull=True
    )
    rows = of_reference.filter(at__gte=since, at__lte=until).order_by("-at")
    return rows.select_related(None).only("item", "at", "result")


def _same_sitting(take: Take) -> Callable[[Take], bool]:
    return lambda other: other.item == take.item and abs(other.at - take.at) <= SITTING


def _others(heard: Sequence[Take]) -> list[Mapping[str, Any]]:
    """Every heard take of the same player's same items: only what is needed to choose among them."""
    owners = {take.reed.owner_id for take in heard}
    rows = Take.objects.filter(
        reed__owner__in=owners,
        item__in={take.item for take in heard},
        state=TakeState.READY,
        taken_back_at__isnull=True,
        reed__taken_out_at__isnull=True,
    )
    return list(
        rows.order_by("-at").values("pk", "item", "at", "reed_id", "reed__owner_id", "reed__is_reference")
    )


def _beside(take: Take, others: Iterable[Mapping[str, Any]]) -> tuple[int | None, int | None]:
    """Choose the reference's take of the same sitting, and the newest of a reed recorded before."""
    same = [
        row
        for row in others
        if row["item"] == take.item
        and row["reed_id"] != take.reed_id
        and row["reed__owner_id"] == take.reed.owner_id
    ]
    sitting = [row for row in same if row["reed__is_reference"] and abs(row["at"] - take.at) <= SITTING]
    before = [row for row in same if not row["reed__is_reference"] and row["at"] < take.at]
    reference = None if take.reed.is_reference else next((row["pk"] for row in sitting), None)
    return reference, next((row["pk"] for row in before), None)
