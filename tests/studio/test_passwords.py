"""Passwords that a guesser tries first who knows what is done here."""

import pytest
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from studio.passwords import WORDS, NotOfTheTradeAlone


@pytest.mark.parametrize("weak", ["oboereed2026", "Reeds!1999", "my-oboe-1", "cane.2025", "EnglishHorn"])
def test_one_or_two_words_of_the_trade_are_refused(weak):
    with pytest.raises(ValidationError, match="words of your own"):
        validate_password(weak)


@pytest.mark.parametrize(
    "good", ["cane and thread and wax", "oboe grandmother", "shaper staple mandrel", "réédschoen"]
)
def test_others_are_not(good):
    NotOfTheTradeAlone().validate(good)


def test_a_long_one_is_looked_at_as_fast_as_it_is_read():
    """Each word once, over and over, and no end that fits: nothing is tried twice."""
    NotOfTheTradeAlone().validate("".join(WORDS) * 500 + "ö")
