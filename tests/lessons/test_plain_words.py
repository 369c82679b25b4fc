"""Chances and words of statistics stand folded, on every page that tells of a number too close to call."""

from lessons.answering.models import Answer
from reeds.checks import limits
from reeds.reed.models.measurement import Measurement
from reeds.sheet.starters import SHORT_SCRAPE
from tests import factories as make
from tests.folded import OF_STATISTICS, parted
from tests.reeds.checks.make import number
from tests.reeds.checks.make import reed as facts


def test_a_close_call_tells_its_chance_only_to_who_unfolds_it(as_member, student, teacher):
    found = limits.check(facts(number("tie_length", 73.1)), SHORT_SCRAPE)
    sent = make.sent_round(student, findings=[one.as_json() for one in found])
    row = {"quantity": "tie_length", "value": 73.1, "u": 0.2, "method": "ruler", "stage": "tied"}
    Measurement.objects.create(studio=sent.studio, reed=sent.reed, at=sent.sent_at, **row)
    Answer.objects.create(studio=sent.studio, submission=sent, author=teacher, sent_at=sent.sent_at)
    for who, name, of in (
        (student, "lessons:round", sent),
        (student, "reeds:reed", sent.reed),
        (teacher, "reeds:reed", sent.reed),
        (teacher, "lessons:review", sent),
    ):
        at_once, folded = parted(as_member(who).get(who.to(name, of.pk)).text)
        assert not OF_STATISTICS.search(at_once), (name, OF_STATISTICS.findall(at_once))
        assert "30 %" in folded, name
        assert "too close to a limit to call" in at_once + folded
