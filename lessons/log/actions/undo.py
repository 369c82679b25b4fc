"""A list taken back as one: all that came with it goes, as long as nothing else hangs on its reeds."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice
from typing import Any

from django.db import models, router, transaction
from django.db.models import ManyToManyRel, Q
from django.utils import timezone
from django.utils.translation import gettext as _

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
        yield from ((str(number), str(model._meta.verbose_name)) for number in pairs)
    named = Reed.objects.filter(log=log.key, is_reference=True).values_list("number", flat=True)
    yield from ((str(number), _("it is the good reed to compare recordings with")) for number in named)


def _ways() -> Iterator[tuple[type[models.Model], str, str]]:
    """Yield every model that hangs on what a list makes, by which field, and the way to the reed's number.

    They are asked of Django, so that what is added one day is not forgotten here.
    """
    for kind, reed in ((Reed, ""), (Measurement, "reed__"), (PlayingTest, "reed__")):
        for relation in kind._meta.related_objects:
            if relation.related_model is Rating:
                continue  # part of its test
            model: Any = relation.related_model
            if isinstance(relation, ManyToManyRel):
                model = relation.through
                path = next(f.name for f in model._meta.fields if f.related_model is kind)
            else:
                path = relation.field.name
            yield model, path, f"{path}__{reed}number"
