"""What the site keeps of people: why, who sees it and for how long, as the page of it says."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.utils.translation import gettext as _

from lessons.export.models import KEPT as EXPORT_KEPT
from studio.devices import KEPT_S
from studio.journal import KEPT as JOURNAL_KEPT
from studio.models import Studio

DAY_S = 24 * 3600


@dataclass(frozen=True)
class Kept:
    """One kind of thing."""

    what: str
    why: str
    who: str
    how_long: str


def kept(studio: Studio | None = None) -> list[Kept]:
    """Return all of it, with the times of a studio where there is one to tell of."""
    return [*_account(), *_made(_chosen(studio, "pictures")), *_people(_chosen(studio, "former")), *_around()]


def _chosen(studio: Studio | None, what: str) -> str:
    """Return how long a studio keeps something, or that each says it itself."""
    if studio is None:
        return _("as long as your studio says, on its own page of this; else until it is erased")
    months: Any = getattr(studio, f"get_keep_{what}_months_display")()
    return _("%(time)s in this studio") % {"time": months} if months else _("until it is erased")


def _account() -> list[Kept]:
    return [
        Kept(
            _("Your name, user name, e-mail address if you gave it; of the password only a check"),
            _("so that you can sign in, be told of answers, and choose a new password"),
            _("name and user name: your teachers; the e-mail address: nobody but you"),
            _("until you are erased"),
        ),
        Kept(
            _("Where you are signed in: the kind of device, since when, last use; cookies for that alone"),
            _("so that you stay signed in, and can end it elsewhere"),
            _("you"),
            _("%(days)d days after the last sign-in; that a device is known, %(known)d days")
            % {"days": settings.SESSION_COOKIE_AGE // DAY_S, "known": KEPT_S // DAY_S},
        ),
    ]


def _made(pictures: str) -> list[Kept]:
    student = _("the student and the teachers; a guardian who is let in")
    return [
        Kept(
            _("Reeds: numbers, steps, playing tests, cane"),
            _("they are what the checks and the look back on a term are made of"),
            student,
            _("until they are erased; without a name they may stay for the studio's figures"),
        ),
        Kept(
            _("Photos of reeds, without what the camera wrote into the file, as place and serial number"),
            _("so that the teacher sees the reed and lengths can be measured"),
            _("the student and the teachers; those of a teacher's model reed everybody of the studio"),
            pictures,
        ),
        Kept(
            _("Recordings: their sound alone, and what was heard in it"),
            _("so that the teacher hears the reed"),
            student,
            pictures,
        ),
        Kept(
            _("Questions, answers, replies, marks, spoken notes, lessons, letters"),
            _("they are the lessons"),
            _("the student and the teachers; a lesson's notes all who were there"),
            _("until they are erased; spoken notes: %(time)s") % {"time": pictures},
        ),
    ]


def _people(former: str) -> list[Kept]:
    return [
        Kept(
            _("Of who is under age: that, the guardian's name, when the consent was given and taken back"),
            _("photos and recordings of children need it"),
            _("the teachers"),
            _("until you are erased"),
        ),
        Kept(
            _("Whoever left the studio, with all that was theirs"),
            _("so that they can come back"),
            _("the teachers"),
            former,
        ),
    ]


def _around() -> list[Kept]:
    return [
        Kept(
            _("A journal: sign-ins, who opened whose photos and recordings, roles, consents, erasures"),
            _("so that it can be seen who had a look"),
            _("the teachers; everybody what is about themselves"),
            _("%(days)d days; who is erased is a number in it") % {"days": JOURNAL_KEPT.days},
        ),
        Kept(
            _("Files of an export"),
            _("so that you can fetch them"),
            _("who asked for it"),
            _("%(days)d days") % {"days": EXPORT_KEPT.days},
        ),
        Kept(
            _("The server's own log: addresses of pages, times, errors, no words and no names"),
            _("so that trouble can be found"),
            _("whoever looks after the server"),
            _("as they have set it"),
        ),
        Kept(
            _("Backups of the whole site"),
            _("so that nothing is lost when a machine breaks"),
            _("whoever looks after the server"),
            _backups(),
        ),
    ]


def _backups() -> str:
    if not settings.BACKUP_DIR:
        return _("the site makes none by itself; those made by hand as long as they are not deleted")
    return _("the last %(many)d, one a day; what is erased is in them so long") % {
        "many": settings.BACKUP_KEEP
    }
