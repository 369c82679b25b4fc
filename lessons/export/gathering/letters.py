"""Letters of a term, and which photos stand in them."""

from __future__ import annotations

from lessons.export.gathering.scope import Rows, Scope
from lessons.export.gathering.source import ID, Cells, Field, Source, link, moment, person, plain
from lessons.export.packing.shapes import Column, Kind
from lessons.letter.models import Letter, LetterPicture
from reeds.numbers.words import gettext_noop as _


def _lines(name: str, said: str) -> Field:
    """A column of sentences, one a line."""
    return Field((Column(name, said),), (name,), _joined)


def _joined(_scope: Scope, lines: list[object]) -> Cells:
    return ("\n".join(map(str, lines)),)


def _letters(scope: Scope) -> Rows:
    """Letters of the term that is asked for: they are written when it is over."""
    rows = Letter.objects.visible_to(scope.member)
    return rows.filter(term=scope.term) if scope.term else rows


LETTERS = Source(
    name="letters",
    said=_("One row for each letter of a term; a teacher's draft has no time at which it was given."),
    model=Letter,
    taken=_letters,
    whose="student",
    fields=(
        ID,
        person("student", _("to whom")),
        plain("term", _("of which term"), path="term_name"),
        plain("starts_on", _("the term's first day"), Kind.DAY),
        plain("ends_on", _("the term's last day"), Kind.DAY),
        plain("version", _("which version, from 1"), Kind.WHOLE),
        _lines("sentences", _("what changed, one sentence a line")),
        _lines("comes_back", _("what comes back, one sentence a line")),
        _lines("agreed", _("what was agreed, one sentence a line")),
        plain("words", _("the teacher's words")),
        plain("next_aim", _("the next aim")),
        moment("given_at", _("when it was given")),
        person("given_by", _("who gave it")),
    ),
)


def _pictures(scope: Scope) -> Rows:
    return LetterPicture.objects.visible_to(scope.member).filter(letter__in=_letters(scope))


LETTER_PICTURES = Source(
    name="letter_pictures",
    said=_("Which photos stand in which letter."),
    model=LetterPicture,
    taken=_pictures,
    whose="letter__student",
    fields=(
        ID,
        link("letter_id", "letters", _("the letter"), path="letter"),
        link("photo_id", "photos", _("the photo"), path="photo"),
        plain("place", _("its place, from the left"), Kind.WHOLE),
        plain("caption", _("what stands beside it")),
    ),
)

TABLES = (LETTERS, LETTER_PICTURES)
