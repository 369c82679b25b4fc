"""The phone's rule of limits and the server's: the browser runs the same cases and says the same words."""

import datetime as dt
import math
from dataclasses import dataclass, replace

import pytest
from django.utils import timezone

from lessons.sending.forms import DraftForms
from reeds.checks import limits
from reeds.checks.comparing import against_sheet
from reeds.checks.facts import Reading, ReedFacts
from reeds.checks.findings import Outcome
from reeds.checks.sheet import Sheet
from reeds.numbers.measured import Measured
from reeds.numbers.words import Method
from reeds.reed.facts import facts_of, sheet_of
from reeds.reed.forms.numbers import NumbersForm
from reeds.reed.models.reed import ReedEvent
from reeds.reed.on_phone import limits_on_phone
from reeds.sheet.models.doubt import OwnDoubt
from reeds.templatetags.findings import in_brief, tone
from reeds.wording import filled
from tests import factories as make

ODD = [
    *("72,5", " 72.5 mm", "7.25", "725", "0", "-3", "−0,25", "１２．５", "72 73", "1.234,5", "12 000"),
    *("2.8 in", "7,2 cm", "720 cm", "nine", "72.", ".5", "+1", "2%", "1e3", "9999999", "3 °", "   "),
    *("0.8 m", "72''"),
]
IN_BROWSER = """async (cases) => {
  const { checked } = await import("/static/js/limits.js");
  return cases.map(({ text, key, method, told }) => checked(text, key, method, told, "en"));
}"""


@dataclass(frozen=True)
class Server:
    """What the checks of the server say of a number typed for one reed, of which no other is known."""

    facts: ReedFacts
    sheet: Sheet

    def says(self, quantity, text, method):
        if not text.strip():
            return None
        form = NumbersForm([quantity], {quantity.key: text, f"{quantity.key}-method": method})
        if not form.is_valid():
            return {"question": form.errors[quantity.key][0]}
        (entry,) = form.entries()
        measured = Measured(entry.value, quantity.default_u(entry.method, self.facts.doubts))
        told = {"method": entry.method, "when": timezone.now(), "stage": self.facts.stage}
        reading = Reading(quantity=quantity.key, measured=measured, **told)
        facts = replace(self.facts, numbers={quantity.key: reading})
        found = against_sheet(limits.KEY, quantity.key, facts, self.sheet)
        return as_told(found[0]) if found else {"remark": ""}


def as_told(finding):
    sentence = filled(finding.message, finding.params)
    if finding.outcome is Outcome.NOTED:
        return {"remark": sentence}
    shown = {"tone": tone(finding), "brief": in_brief(finding), "sentence": sentence}
    return {"outcome": finding.outcome.value, "probability": finding.probability, **shown}


def texts_of(row):
    """Numbers on both sides of each limit, as near as doubts make a difference, and halves to be rounded."""
    edges = row["limit"] or [row["low"], row["high"]]
    around = [edge for edge in edges if edge is not None]
    steps = (-2, -0.5, -0.33, -0.1, -0.01, 0, 0.005, 0.1, 0.25, 0.33, 0.5, 2)
    return [f"{edge + step:.4g}" for edge in around for step in steps] + ODD


@pytest.fixture
def reeds(student):
    """Reeds that differ in all that limits depend on: staple, feel, stage, clips; a studio's own doubt."""
    one = make.ReedFactory(owner=student, stage="tied")
    common = {"owner": student, "version": one.version}
    clipped = make.ReedFactory(**common, stage="scraped", flexibility="hard")
    made = {
        "studio": student.studio,
        "reed": clipped,
        "kind": "clip",
        "at": timezone.now() - dt.timedelta(days=1),
    }
    ReedEvent.objects.create(**made, clip_mm=0.75, clip_u=0.1)
    OwnDoubt.objects.create(studio=student.studio, method=Method.RULER, u_mm=0.15)
    others = [
        make.ReedFactory(**common, stage=stage)
        for stage in ("cane", "shaped", "bound", "finishing", "playing")
    ]
    return [one, clipped, make.ReedFactory(**common, stage="tied", staple_length=47.0), *others]


def cases_of(reed):
    numbers = DraftForms(make.SubmissionFactory.build(reed=reed, student=reed.owner)).numbers
    told = limits_on_phone(reed, numbers.quantities)
    server = Server(facts_of(reed, reed.owner), sheet_of(reed))
    for quantity in numbers.quantities:
        if not quantity.is_number:
            continue
        for method in quantity.hand_methods:
            for text in texts_of(told["quantities"][quantity.key]):
                case = {"text": text, "key": quantity.key, "method": method.value, "told": told}
                yield case, server.says(quantity, text, method)


def test_the_phone_says_of_each_number_what_the_server_says(phone, live_server, reeds):
    phone.goto("/account/login/")
    seen = set()
    for reed in reeds:
        cases, expected = zip(*cases_of(reed), strict=True)
        for case, here, there in zip(cases, phone.evaluate(IN_BROWSER, list(cases)), expected, strict=True):
            where = (reed.stage, case["key"], case["method"], case["text"])
            if here and "probability" in here:
                seen.add(here["outcome"])
                assert math.isclose(here.pop("probability"), there.pop("probability"), abs_tol=1e-9), where
            assert here == there, where
    assert seen == {"within", "below", "above", "too_close", "undecidable"}
