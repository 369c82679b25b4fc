"""Asking for an export, dropping it, and forgetting those that were kept long enough."""

from __future__ import annotations

import datetime as dt

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from lessons.export.models import Export, Wanted
from lessons.export.tasks import make_export
from studio.errors import NotPossible
from studio.journal import Happened, note
from studio.models import Member


def ask(by: Member, wanted: Wanted) -> Export:
    """Have an export made; an earlier one goes. One at a time: NotPossible while another is being made."""
    there = Export.objects.filter(member=by).first()
    if there and there.is_making:
        raise NotPossible(_one_at_a_time())
    student = wanted.student if by.leads else None
    try:
        with transaction.atomic():
            if there:
                drop(there)
            row = Export.objects.create(
                studio_id=by.studio_id,
                member=by,
                by_teacher=by.leads,
                student=student,
                term=wanted.term,
                with_pictures=wanted.with_pictures,
            )
            note(Happened.EXPORTED, by=by, whose=student or (None if by.teaches else by))
            make_export.enqueue(row.pk)
    except IntegrityError:  # asked for twice at once
        raise NotPossible(_one_at_a_time()) from None
    return row


def _one_at_a_time() -> str:
    return _("An export is being made already. Wait until it is ready, then ask for another.")


@transaction.atomic
def drop(export: Export) -> None:
    """Delete an export with its file."""
    row = Export.objects.filter(pk=export.pk).first()  # as it is now: its file may have come meanwhile
    Export.objects.filter(pk=export.pk).delete()
    if row and row.file:
        storage, name = row.file.storage, str(row.file.name)
        transaction.on_commit(lambda: storage.delete(name))


def forget_spent(a_day_ago: dt.datetime) -> int:
    """Delete the exports that were kept long enough; return how many. The sweep counts from a day ago."""
    spent = list(Export.objects.spent(a_day_ago + dt.timedelta(days=1)))
    for one in spent:
        drop(one)
    return len(spent)
