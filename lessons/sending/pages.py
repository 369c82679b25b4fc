"""What came after a round was sent: numbers of its photos and takes, and what the checks say with them."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterable
from dataclasses import replace
from functools import cached_property

from django.utils import timezone

from lessons.sending.models import Submission
from reeds.checks.facts import ReedFacts, Told
from reeds.checks.findings import Finding, Outcome, in_order
from reeds.checks.newest import newest, others
from reeds.checks.recorded import KEY as RECORDED
from reeds.checks.registry import run_checks
from reeds.checks.sheet import Sheet, moved
from reeds.numbers.words import Stage
from reeds.numbers.words import gettext_noop as _
from reeds.reed.facts import BareRows, answers_in, facts_of, still_told
from reeds.reed.models.measurement import Measurement
from reeds.take.models import Take
from reeds.take.told import newest_of_each, told_by

# findings are of a moment before it is sent: what was heard so shortly before may be missing in them
A_MOMENT = dt.timedelta(minutes=1)
# stands where a step was that something newer has overtaken: a reed has one step
SEE_LATER = _("This waits. First see what came later.")


class Later:
    """Later numbers beside the stored findings, which stay as they were shown.

    The checks are asked about the reed as it was sent, with what came later: what happened to the reed
    since, a clip or a further step, is left out.
    """

    def __init__(
        self,
        submission: Submission,
        takes: Iterable[Take] | None = None,
        numbers: list[Measurement] | None = None,
    ) -> None:
        """`takes` are those sent with it, `numbers` those that came later, where a page has them."""
        self.submission = submission
        self.rows = BareRows(submission.reed)
        self._sent_takes = takes
        self._numbers = numbers

    @cached_property
    def numbers(self) -> list[Measurement]:
        """The numbers that came later, oldest first."""
        if self._numbers is not None:
            return self._numbers
        return list(self.submission.came_later.select_related("by__person", "reed"))

    @cached_property
    def now(self) -> ReedFacts:
        """What is known of the reed by now, with how this round's playing test went."""
        reed = self.submission.reed
        return facts_of(reed, reed.owner, (), answers_in(self.submission.playing_test), self.rows)

    @cached_property
    def takes(self) -> list[Take]:
        """The recordings of the round that were heard, without what they are drawn from."""
        if self._sent_takes is not None:
            return [take for take in self._sent_takes if take.is_ready]
        return list(self.submission.takes.heard().defer("tracks"))

    @cached_property
    def came(self) -> bool:
        """Whether anything came that the checks were not asked about when it was sent."""
        return bool(self.numbers) or any(map(self._is_heard_later, self.takes))

    @cached_property
    def findings(self) -> list[Finding]:
        """What the checks say of them, the greatest need first; what was said already is left out."""
        if not self.came:
            return []
        said = [_told(finding) for finding in self.submission.found]
        return in_order(one for one in self.checked if self._is_about_them(one) and _told(one) not in said)

    @property
    def checked(self) -> list[Finding]:
        """All that the checks say of the reed as it was sent, with what came later."""
        return run_checks(self._facts(), self._sheet())

    @cached_property
    def stored(self) -> list[Finding]:
        """What was found when it was sent; its step waits where what came later takes something off."""
        if not any(map(_takes_off, self.findings)):
            return self.submission.found
        return [one.without_step(SEE_LATER) if _takes_off(one) else one for one in self.submission.found]

    def _is_heard_later(self, take: Take) -> bool:
        """Whether what a recording told may not be among the stored findings."""
        sent_at = self.submission.sent_at
        return take.heard_at is None or sent_at is None or take.heard_at > sent_at - A_MOMENT

    def _is_about_them(self, finding: Finding) -> bool:
        if finding.outcome is Outcome.UNDECIDABLE:  # that is told beside the quantity, not of a round
            return False
        keys = {row.quantity for row in self.numbers}
        return finding.check == RECORDED or bool(keys.intersection([finding.quantity, *finding.also]))

    def _sheet(self) -> Sheet:
        reed = self.submission.reed
        version = self.submission.version or reed.version
        return moved(version.sheet, self.rows.offsets)

    def _facts(self) -> ReedFacts:
        """The reed as it was sent, with what came later."""
        reed, sent_at, now = self.submission.reed, self.submission.sent_at or timezone.now(), self.now
        rows = [row for row in self.rows.numbers if row.entered_at <= sent_at]
        own = [take for take in self.takes if take.reed_id == reed.pk]
        beside = [take for take in self.takes if take.reed_id != reed.pk]
        known = reed.version.sheet.known
        readings = still_told([*rows, *self.numbers], [row for row in self.rows.events if row.at <= sent_at])
        return replace(
            now,
            stage=Stage(self.submission.stage or reed.stage),
            numbers=newest(readings, known),
            others=others(readings, known),
            clips=tuple(clip for clip in now.clips if clip.when is None or clip.when <= sent_at),
            takes=_told_by_item(own),
            reference_takes=_told_by_item(beside),
        )


def _takes_off(finding: Finding) -> bool:
    """Whether its step cannot be undone, be it this student's to take or their teacher's to say."""
    return finding.irreversible or finding.waits


def _told_by_item(takes: list[Take]) -> dict[str, Told]:
    return {item: told_by(take) for item, take in newest_of_each(takes).items()}


def _told(finding: Finding) -> tuple[str, ...]:
    """What a finding says, for the question whether it was said before (a stored one went through JSON).

    Of a recording also its next step: it is another one once the reference reed is heard.
    """
    step = finding.next_step if finding.check == RECORDED else ""
    return finding.check, finding.quantity, finding.message, json.dumps(finding.params, sort_keys=True), step
