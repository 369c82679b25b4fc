"""What people do with printed cards: take a new number, note what the bar measures."""

from __future__ import annotations

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from reeds.numbers.quantity import u_of_length
from reeds.numbers.words import Method
from reeds.photo.models.card import BAR_METHODS, PrintedCard
from reeds.sheet.models.doubt import OwnDoubt
from studio.errors import NotPossible
from studio.models import Member, Studio

BAR_LIMITS_MM = (50.0, 200.0)
MOST_CARDS = 40


@transaction.atomic
def new_card(member: Member) -> PrintedCard:
    """Give a member a card with a number of its own."""
    Studio.objects.select_for_update().get(pk=member.studio_id)  # two at once must not draw one number
    if PrintedCard.objects.filter(owner=member).count() >= MOST_CARDS:
        raise NotPossible(_("You have forty cards already: print one of these again."))
    number = PrintedCard.objects.next_number(member.studio_id)
    return PrintedCard.objects.create(studio_id=member.studio_id, owner=member, number=number)


@transaction.atomic
def note_bar(card: PrintedCard, by: Member, bar_mm: float, method: Method) -> None:
    """Keep what the card's 100 mm bar really measures; photos measured before keep their numbers."""
    if not card.may_be_noted_by(by):
        raise NotPossible(_("Only who printed this card, or a teacher, changes what its bar measures."))
    if method not in BAR_METHODS:
        raise NotPossible(_("Measure the bar with a ruler or a caliper."))
    if not BAR_LIMITS_MM[0] <= bar_mm <= BAR_LIMITS_MM[1]:
        raise NotPossible(
            _("That cannot be the bar of this card: it is made to be 100 mm. Measure from stroke to stroke.")
        )
    card.bar_mm, card.bar_method, card.noted_by, card.noted_at = bar_mm, method, by, timezone.now()
    card.bar_u = u_of_length(Method(method), OwnDoubt.objects.of(card.studio_id))
    card.save(update_fields=["bar_mm", "bar_method", "bar_u", "noted_by", "noted_at"])
