"""The journal: what happened to a person's things, and what they did themselves."""

from __future__ import annotations

from django.db.models import Q

from lessons.export.gathering.scope import Rows, Scope
from lessons.export.gathering.source import ID, Source, moment, person, plain, word
from lessons.export.packing.shapes import Kind
from reeds.numbers.words import gettext_noop as _
from studio.journal import Happened, JournalEntry, Thing


def _entries(scope: Scope) -> Rows:
    rows = JournalEntry.objects.visible_to(scope.member)
    student = scope.student
    return rows.filter(Q(whose=student) | Q(by=student)) if student else rows


JOURNAL = Source(
    name="journal",
    said=_("One row for each thing that was noted: who signed in, opened photos, changed what people may."),
    model=JournalEntry,
    taken=_entries,
    when="at",
    fields=(
        ID,
        moment("at", _("when")),
        word("happened", _("what happened"), Happened.choices),
        person("by", _("who did it; empty for the server itself")),
        person("whose", _("whose it is")),
        word("thing", _("what was opened"), Thing.choices),
        plain("number", _("its id"), Kind.WHOLE),
        plain("detail", _("more of it: a role before and after")),
    ),
)
