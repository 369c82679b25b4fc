"""Passwords that a guesser tries first who knows what is done here."""

import pytest
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.test import Client

from studio.actions import make_sign_in_link
from studio.passwords import WORDS, NotOfTheTradeAlone
from tests import factories as make


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


def test_every_sign_of_a_long_one_counts(student):
    """As typed: spaces at the ends, large and small, up to the last of 128 signs."""
    long = " Grandmother's Oboe " + "x" * 107 + "Y"
    link = make_sign_in_link(student, make.teacher(studio=student.studio))
    assert len(long) == 128
    assert Client().post(link.get_absolute_url(), {"password": long}).status_code == 302
    for typed, signed_in in (
        (long, True),
        (long[:-1] + "y", False),
        (long[:-1], False),
        (long.strip(), False),
    ):
        client = Client()
        client.post("/account/login/", {"login": student.person.username, "password": typed})
        assert bool(client.session.get("_auth_user_id")) == signed_in
