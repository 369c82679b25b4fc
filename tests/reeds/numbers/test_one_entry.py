"""A quantity with a unit of its own works by its one entry in the registry."""

import pytest
from django.core.exceptions import ValidationError

from reeds.checks.findings import Outcome
from reeds.checks.registry import run_checks
from reeds.checks.sheet import Limit, Sheet
from reeds.fields import TypedNumber
from reeds.numbers.measured import Measured
from reeds.numbers.quantity import Quantity
from reeds.numbers.registry import QUANTITIES, REGISTRY
from reeds.numbers.words import Method, Stage, Style
from reeds.reed.forms.numbers import NumbersForm
from reeds.templatetags.quantities import with_doubt
from tests.reeds.checks.make import number, reed, words

WEIGHT = Quantity(
    key="weight",
    name="weight of the blank",
    unit="g",
    spellings=("gram", "grams"),
    stage=Stage.TIED,
    low=0.5,
    high=9.0,
    decimals=2,
    u={Method.DIAL: 0.05, Method.EYE: 0.5},
    method=Method.DIAL,
    methods=(Method.DIAL, Method.EYE),
    help="Dry, with its staple.",
)


@pytest.fixture(autouse=True)
def _entry(monkeypatch):
    monkeypatch.setitem(QUANTITIES, "weight", WEIGHT)


def sheet():
    return Sheet(Style.SHORT, (Limit(quantity="weight", low=2.0, aim=2.3, high=2.6),))


@pytest.mark.parametrize("typed", ["2,35", "2.35 g", "2,35 GRAMS", "2.35gram"])
def test_it_is_typed_with_its_unit_and_a_comma(typed):
    form = NumbersForm([WEIGHT], {"weight": typed, "weight-method": "dial"})
    assert form.is_valid(), form.errors
    (entry,) = form.entries()
    assert (entry.value, entry.method) == (2.35, Method.DIAL)


def test_its_label_has_the_unit_and_its_ways_of_measuring_are_offered():
    form = NumbersForm([WEIGHT])
    assert form.fields["weight"].label == "weight of the blank (g)"
    assert [value for value, _label in form.fields["weight-method"].choices] == ["dial", "eye"]


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("2.35 mm", "is not in g. Type weight of the blank in g."),
        ("0.002 kg", "is not in g. Type weight of the blank in g."),
        ("235", "Did you mean 2.35?"),
        ("4000", "Did you mean 4?"),
        ("0", "more than zero"),
        ("97531", "lies between 0.5 and 9."),
        ("heavy", "is not a number"),
    ],
)
def test_what_cannot_be_right_is_asked_back_in_its_own_unit(typed, says):
    field = TypedNumber.of(WEIGHT)
    with pytest.raises(ValidationError) as caught:
        field.clean(typed)
    assert says in " ".join(caught.value.messages)


def test_it_is_asked_at_its_stage():
    assert WEIGHT in REGISTRY.asked_at(Stage.TIED, {"weight"})
    assert WEIGHT not in REGISTRY.asked_at(Stage.PLAYING, {"weight"})


def test_each_way_of_measuring_gives_it_its_own_doubt_and_a_studio_s_ruler_does_not_matter():
    own = {Method.DIAL: 0.01, Method.EYE: 0.3}  # a studio's own, mm
    assert WEIGHT.default_u(Method.DIAL, own) == 0.05
    assert WEIGHT.default_u(Method.EYE, own) == 0.5
    assert WEIGHT.default_u(Method.RULER) is None


def test_it_is_checked_against_its_row_of_the_sheet():
    heavy = reed(number("weight", 2.85, u=0.05, method=Method.DIAL))
    (found,) = [one for one in run_checks(heavy, sheet()) if one.quantity == "weight"]
    assert found.outcome is Outcome.ABOVE
    assert words(found) == "Weight of the blank: 2.85 g is above the high limit of 2.6."


def test_a_coarse_way_is_told_from_a_fine_one():
    assert sheet().limit_for("weight").able() == [Method.DIAL]
    guessed = reed(number("weight", 2.3, u=0.5, method=Method.EYE))
    (found,) = [one for one in run_checks(guessed, sheet()) if one.quantity == "weight"]
    assert found.outcome is Outcome.UNDECIDABLE
    assert found.params["tool_label"] == Method.DIAL.label


def test_a_reed_without_it_is_missing_it():
    (found,) = [one for one in run_checks(reed(), sheet()) if one.quantity == "weight"]
    assert found.outcome is Outcome.MISSING


def test_it_is_shown_with_its_doubt_and_unit():
    assert with_doubt(Measured(2.349, 0.05), "weight") == "2.35 ± 0.05 g"
    assert with_doubt(Measured(2.35), "weight") == "2.35 g"


def test_an_entry_whose_doubt_was_forgotten_is_refused_at_once():
    with pytest.raises(ValueError, match="weight has a way of measuring by hand without a doubt"):
        Quantity(key="weight", name="weight", unit="g", stage=Stage.TIED, low=1, high=9)
