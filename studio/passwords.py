"""Passwords that a guesser tries first who knows what is done here."""

from __future__ import annotations

import re

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

# what belongs to the trade and to us: of these words, digits and signs alone no password is made
TRADE = (
    "oboe oboes oboist hautbois reed reeds cane staple staples thread cork shaper shape gouge knife plaque "
    "mandrel blade scrape crow embouchure english horn music musician studio teacher student lesson lessons "
    "school conservatory conservatoire orchestra concert password welcome my the and is"
)
WORDS = tuple(TRADE.split())
MOST_WORDS = 2  # three words of the trade are many to try
# the longest first, so that 'oboist' is not left with 'ist'
ANY = "|".join(sorted(WORDS, key=len, reverse=True))
MADE_OF = re.compile(rf"(?>[\W\d_]|{ANY})*+")
ONE = re.compile(ANY)


class NotOfTheTradeAlone:
    """Refuses one or two words of the trade, with digits and signs around them."""

    def validate(self, password: str, user: object = None) -> None:
        said = password.lower()
        if MADE_OF.fullmatch(said) and len(ONE.findall(said)) <= MOST_WORDS:
            raise ValidationError(_("Words of the trade and digits are tried first. Add words of your own."))

    def get_help_text(self) -> str:
        return _("Not one or two words of the trade alone.")
