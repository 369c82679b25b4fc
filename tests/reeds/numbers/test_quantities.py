"""The registry of quantities, and numbers as people type them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reeds.numbers.entry import NumberQuestion, read_number
from reeds.numbers.quantity import ASKED_AT_ONCE, Quantity
from reeds.numbers.registry import QUANTITIES, REGISTRY
from reeds.numbers.words import Method, Stage, said
from reeds.sheet.starters import STARTERS

TIE = QUANTITIES["tie_length"]
GOUGE = QUANTITIES["gouge"]


def parse_number(typed, quantity):
    """A number typed for a quantity of the registry."""
    return read_number(
        typed,
        name=quantity.name,
        unit=quantity.unit,
        low=quantity.low,
        high=quantity.high,
        spellings=quantity.spellings,
    )


NUMBERS = [quantity for quantity in QUANTITIES.values() if quantity.is_number]


@pytest.mark.parametrize(
    "typed",
    [
        "72.5",
        "72,5",
        " 72,5 ",
        "72.5mm",
        "72,5 mm",
        "72.5 MM",
        "+72.5",
        "\u00a072,50\u00a0mm",
        "７２.５",
        "072.5",
    ],
)
def test_a_person_types_a_number_in_any_usual_way(typed):
    assert parse_number(typed, TIE) == 72.5


@pytest.mark.parametrize(
    ("typed", "key", "says", "suggests"),
    [
        ("7.25", "tie_length", "Did you mean 72.5?", 72.5),
        ("725", "tie_length", "Did you mean 72.5?", 72.5),
        ("58", "gouge", "Did you mean 0.58?", 0.58),
        ("0,058", "gouge", "Did you mean 0.58?", 0.58),
        ("7.25 cm", "tie_length", "Did you mean 72.5?", 72.5),
        ("2.83", "tie_length", "Millimetres are wanted.", None),
        ("2.83 in", "tie_length", "Type tie length in mm.", None),
        ('2.83"', "tie_length", "Type tie length in mm.", None),
        ("0.0228", "gouge", "Millimetres are wanted.", None),
        ("22.8 thou", "gouge", "Type gouge in mm.", None),
        ("0", "tie_length", "is more than zero", None),
        ("-72", "tie_length", "is more than zero", None),
        ("−0.58", "gouge", "is more than zero", None),
        ("-0.3", "slip", "never less than zero", None),
        ("5000", "tie_length", "cannot be right", None),
        ("9" * 500, "tie_length", "cannot be right", None),
        ("1,072.5", "tie_length", "thousands marks", None),
        ("1.072,5", "tie_length", "thousands marks", None),
        ("1 072", "tie_length", "thousands marks", None),
        ("1'072.5", "tie_length", "thousands marks", None),
        ("72 73", "tie_length", "several numbers", None),
        ("72/73", "tie_length", "several numbers", None),
        ("72–73", "tie_length", "several numbers", None),
        ("72.5, 27", "tie_length", "several numbers", None),
        ("about", "tie_length", "not a number", None),
        ("nan", "tie_length", "not a number", None),
        ("inf", "tie_length", "not a number", None),
        ("<72", "tie_length", "not a number", None),
        ("", "tie_length", "Type a number for tie length.", None),
        ("   ", "tie_length", "Type a number for tie length.", None),
        (".", "tie_length", "not a number", None),
        ("mm", "tie_length", "Type a number for tie length.", None),
        ("12", "thread_past_staple", "lies between -8 and 8", None),
        ("5", "slip", "lies between 0 and 2", None),
        ("2", "unevenness", "lies between -1 and 1", None),
    ],
)
def test_a_number_that_cannot_be_right_is_asked_back(typed, key, says, suggests):
    with pytest.raises(NumberQuestion) as caught:
        parse_number(typed, QUANTITIES[key])
    assert says in str(caught.value)
    assert caught.value.suggestion == suggests


def test_zero_is_taken_where_zero_can_be():
    assert parse_number("0", QUANTITIES["slip"]) == 0
    assert parse_number("0", QUANTITIES["thread_past_staple"]) == 0


def test_a_signed_quantity_takes_both_signs_and_the_printed_minus():
    assert parse_number("−0,5", QUANTITIES["thread_past_staple"]) == -0.5
    assert parse_number("-7 cents", QUANTITIES["a4_cents"]) == -7


@given(
    st.sampled_from(NUMBERS), st.floats(0, 1), st.sampled_from([".", ","]), st.sampled_from(["", " mm", "mm"])
)
def test_every_plausible_number_is_taken_as_it_was_meant(quantity, share, separator, suffix):
    meant = round(quantity.low + share * (quantity.high - quantity.low), 3)
    if quantity.unit != "mm":
        suffix = ""
    typed = f" {meant:.3f}{suffix} ".replace(".", separator)
    if quantity.low <= meant <= quantity.high:
        assert parse_number(typed, quantity) == meant


@given(
    st.sampled_from(NUMBERS), st.text(max_size=30) | st.text(alphabet="0123456789.,-+ 'mcin²", max_size=12)
)
def test_whatever_is_typed_gives_a_plausible_number_or_a_sentence(quantity, typed):
    answer = _answer(typed, quantity)
    if isinstance(answer, float):
        assert quantity.low <= answer <= quantity.high
        return
    sentence = said(answer.sentence, answer.params)
    assert sentence.endswith((".", "?"))
    if answer.suggestion is not None:
        assert parse_number(str(answer.suggestion), quantity) == answer.suggestion


def _answer(typed, quantity):
    try:
        return parse_number(typed, quantity)
    except NumberQuestion as question:
        return question


def test_inches_are_never_guessed_for_any_length():
    for quantity in NUMBERS:
        for word in ("in", "inch", "inches", '"', "″"):
            with pytest.raises(NumberQuestion) as caught:
                parse_number(f"2.5 {word}", quantity)
            assert caught.value.suggestion is None


def test_every_quantity_is_described_in_full():
    for key, quantity in QUANTITIES.items():
        assert isinstance(quantity, Quantity)
        assert quantity.key == key
        assert quantity.name
        assert quantity.help.endswith((".", "?"))
        if quantity.is_number:
            assert quantity.low < quantity.high
            assert not quantity.choices
        else:
            assert len(quantity.choices) >= 2
        assert not quantity.methods or quantity.method in quantity.methods


def test_at_most_six_are_asked_at_a_stage_and_the_starters_ask_for_their_own():
    for sheet in STARTERS.values():
        for stage in Stage:
            asked = REGISTRY.asked_at(stage, sheet.keys)
            wanted = [
                q for q in QUANTITIES.values() if q.key in sheet.keys and stage in q.stages and q.is_typed
            ]
            assert len(asked) <= ASKED_AT_ONCE
            assert asked == wanted, "a starter sheet asks for more than six at a stage"


def test_what_only_a_photo_or_an_event_can_tell_is_never_asked():
    asked = {quantity.key for stage in Stage for quantity in REGISTRY.asked_at(stage, QUANTITIES.keys())}
    assert not asked & {"unevenness", "opening_area", "rest", "clipped"}


def test_without_a_sheet_nothing_optional_is_asked():
    assert all(not quantity.optional for stage in Stage for quantity in REGISTRY.asked_at(stage))
    assert "tie_length" in [quantity.key for quantity in REGISTRY.asked_at(Stage.TIED)]


def test_the_stages_stand_in_order():
    assert [stage.order for stage in Stage] == list(range(9))
    assert [stage for stage in Stage if stage.is_blank] == [Stage.TIED, Stage.BOUND]


def test_a_studio_replaces_the_usual_doubt_of_a_tool():
    assert TIE.default_u(Method.RULER) == 0.2
    assert TIE.default_u(Method.RULER, {Method.RULER: 0.3}) == 0.3
    assert TIE.default_u(Method.CALIPER, {Method.RULER: 0.3}) == 0.05


def test_photo_and_recording_bring_their_own_doubt():
    assert TIE.default_u(Method.PHOTO) is None
    assert QUANTITIES["a4_cents"].default_u(Method.RECORDING) is None
    assert QUANTITIES["a4_cents"].default_u(Method.EYE) == 3.0
    assert GOUGE.default_u(Method.RULER) is None, "a ruler is no way to measure a gouge"
    assert QUANTITIES["closing"].default_u(Method.EYE) is None


def test_whatever_is_typed_has_a_way_of_measuring_that_gives_it_a_doubt():
    for quantity in NUMBERS:
        if quantity.is_typed:
            assert quantity.default_u(quantity.hand_method), quantity.key
    assert QUANTITIES["opening_height"].hand_method is Method.CALIPER
    assert TIE.hand_method is Method.RULER
    with pytest.raises(ValueError, match="never typed"):
        QUANTITIES["unevenness"].hand_method  # noqa: B018  # it is the reading that is refused
