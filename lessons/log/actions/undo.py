"""A list taken back as one: all that came with it goes, as long as nothing else hangs on its reeds."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice
from typing import Any

from django.db import models, router, transaction
from django.db.models import ManyToOneRel, Q
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from lessons.log.models import ReedLog
from reeds.reed.models.brought_in import BroughtIn
from reeds.reed.models.cane import CaneLot
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.playing import PlayingTest, Rating
from reeds.reed.models.reed import Reed, ReedEvent
from studio.errors import NotPossible

# what goes, in an order in which nothing hangs on what is gone
KINDS: tuple[type[BroughtIn], ...] = (Measurement, PlayingTest, ReedEvent, Reed)
MOST_NAMED = 5
# what hangs on a reed in words of the bench; what is not named here goes by its own name
WORDS: dict[str, str] = {
    "submission": gettext_noop("a round"),
    "photo": gettext_noop("a photo"),
    "take": gettext_noop("a recording"),
    "measurement": gettext_noop("a number noted since"),
    "reedevent": gettext_noop("something noted since"),
    "playingtest": gettext_noop("a playing test since"),
    "setwork_reeds": gettext_noop("set work it came of"),
}


@transaction.atomic
def take_back(log: ReedLog) -> ReedLog:
    """Take back all that a list made, lots of cane too that nothing else uses; twice is once.

    NotPossible names the reeds on which something else hangs by now, and what.
    """
    locked = ReedLog.objects.select_for_update().get(pk=log.pk)
    if not locked.is_written:
        return locked
    if hanging := list(islice(hanging_on(locked), MOST_NAMED + 1)):
        raise NotPossible(_hangs(hanging))
    _delete(Rating, Rating.objects.filter(test__log=locked.key))
    for kind in KINDS:
        _delete(kind, kind._default_manager.filter(log=locked.key))
    CaneLot.objects.filter(log=locked.key, reeds__isnull=True).delete()
    CaneLot.objects.filter(log=locked.key).update(log=None)
    locked.undone_at = timezone.now()
    locked.save(update_fields=["undone_at"])
    return locked


def _delete(kind: type[models.Model], rows: models.QuerySet[Any]) -> None:
    """Delete rows by one statement: nothing hangs on them, which was looked for, so none need be fetched."""
    rows._raw_delete(router.db_for_write(kind))


def _hangs(hanging: list[tuple[str, str]]) -> str:
    named = "; ".join(
        _("reed %(reed)s: %(what)s") % {"reed": reed, "what": what} for reed, what in hanging[:MOST_NAMED]
    )
    more = _(", and more") if len(hanging) > MOST_NAMED else ""
    return _("It cannot be taken back as one, since something else hangs on it: %(named)s%(more)s.") % {
        "named": named,
        "more": more,
    }


def hanging_on(log: ReedLog) -> Iterator[tuple[str, str]]:
    """Yield the number of each reed on which something hangs that did not come with the list, and what."""
    for model, path, reed_path in _ways():
        rows = model._default_manager.filter(**{f"{path}__log": log.key})
        if issubclass(model, BroughtIn):
            rows = rows.filter(Q(log__isnull=True) | ~Q(log=log.key))
        pairs = rows.order_by(reed_path).values_list(reed_path, flat=True).distinct()[: MOST_NAMED + 1]
        yield from ((str(number), _what(model)) for number in pairs)
    named = Reed.objects.filter(log=log.key, is_reference=True).values_list("number", flat=True)
    yield from ((str(number), _("it is the good reed to compare recordings with")) for number in named)


def _what(model: type[models.Model]) -> str:
    name = model._meta.model_name or ""
    return _(WORDS[name]) if name in WORDS else str(model._meta.verbose_name)


def _ways() -> Iterator[tuple[type[models.Model], str, str]]:
    """Yield every model that hangs on what a list makes, by which field, and the way to the reed's number.

    They are asked of Django, those without a name of the way back too, so that what is added one day is not
    forgotten here; what is chosen of many stands between two models as one of its own.
    """
    for kind, reed in ((Reed, ""), (Measurement, "reed__"), (PlayingTest, "reed__")):
        for relation in kind._meta.get_fields(include_hidden=True):
            # ratings are part of their test
            if isinstance(relation, ManyToOneRel) and relation.related_model is not Rating:
                path = relation.field.name
                yield relation.related_model, path, f"{path}__{reed}number"
