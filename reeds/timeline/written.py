"""How the moments of a reed's life are written: dozens on a page, so each is strings and no template."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Callable, Iterable, Sequence

from django.utils import timezone
from django.utils.formats import date_format, time_format
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from reeds.numbers.measured import Measured
from reeds.numbers.quantity import Known
from reeds.numbers.words import Effort, Flexibility, Method, Moisture, Stage
from reeds.photo.models.photo import Photo
from reeds.reed.models.reed import EventKind
from reeds.reed.rows import HappenedBy, Noted, Tried
from reeds.take.pages.sounding import TakeInWords
from reeds.templatetags.quantities import noted_of, played, rated, with_doubt, work
from reeds.wording import choices_of
from studio.markup import NOTHING
from studio.models import Member

LINE = """<li class="moment">
  <p class="moment-when"><time datetime="{}">{}, {}</time>{}</p>
  {}
</li>
"""
WHAT = '<p class="moment-what">{}</p>'
BACK = '<p class="moment-what taken-back">{}</p><p class="small quiet">{}</p>'
STRONG, QUIET = "<strong>{}</strong>", '<span class="quiet">{}</span>'
TAKE_BACK = """
  <p class="take-back"><button class="plain small" form="take-back" formaction="{}">
    {}<span class="unseen"> {}</span>
  </button></p>"""
READING = "<div><dt>{}</dt><dd><strong>{}</strong> {}</dd></div>"
RATING = "<div><dt>{}</dt><dd>{}</dd></div>"
READINGS = '<dl class="readings">{}</dl>{}'
TAKE = '<li><a href="{}">{}</a> {}</li>'
PHOTOS = '<ul class="thumbs" data-enlarge-together>{}</ul>'
THUMB = """<a class="enlarge" href="{}" data-enlarge data-full="{}" data-width="{}" data-height="{}">
  <img src="{}" alt="{}" loading="lazy" width="96" height="96">
</a>{}"""
MEASURE = """
<a class="small measure-link" href="{}">{}<span class="unseen"> {} {}</span></a>"""
BLOWS = dict(choices_of(Effort))


def spoken(*said: SafeString) -> SafeString:
    """Return what happened, in one paragraph."""
    return format_html(WHAT, together(*said))


def together(*said: SafeString) -> SafeString:
    """Return what is there of these, side by side."""
    return SafeString(" ".join(filter(None, said)))


def strong(words: str) -> SafeString:
    """Return words that say what happened."""
    return format_html(STRONG, words)


def quiet(words: str) -> SafeString:
    """Return words that say more of it; nothing of none."""
    return format_html(QUIET, words) if words else NOTHING


def why(words: str) -> SafeString:
    """Return what a person wrote of it; nothing of nothing."""
    return format_html('<span class="moment-why">{}</span>', words) if words else NOTHING


def lines(moments: Iterable[tuple[dt.datetime, str, SafeString]]) -> SafeString:
    """Return moments, each with its time and by whom, as the items of a list; a day is put in words once."""
    days: dict[dt.date, str] = {}
    rows = []
    for at, by, shown in moments:
        here = timezone.localtime(at)
        day = here.date()
        if day not in days:
            days[day] = date_format(day)
        rows.append((here.isoformat(), days[day], time_format(here), f" · {by}" if by else "", shown))
    return format_html_join("", LINE, rows)


def happened(row: HappenedBy, clipped: Measured | None, take_back: str) -> SafeString:
    """Return an event, with the sum of `clipped` up to it, and a button where it can be taken back."""
    words = WORDS.get(row.kind)
    said = together(words(row, clipped) if words else NOTHING, why(row.why), from_log(row.log))
    if row.taken_back_at is not None:
        return format_html(BACK, said, _("taken back"))
    kind = EventKind(row.kind).label
    button = format_html(TAKE_BACK, take_back, _("take back"), kind) if take_back else NOTHING
    return format_html(WHAT, said) + button


def _made(row: HappenedBy, _clipped: Measured | None) -> SafeString:
    told = [strong(_("Made"))]
    if row.sheet:
        told.append(format_html("· {}", _("sheet %(sheet)s, version %(n)s") % _sheet(row)))
    if row.to_stage != Stage.CANE:
        told.append(format_html("· {}", _stage(row.to_stage)))
    return together(*told)


def _stepped(row: HappenedBy, _clipped: Measured | None) -> SafeString:
    return together(strong(capfirst(_stage(row.to_stage))), _from_stage(row))


def _gone_back(row: HappenedBy, _clipped: Measured | None) -> SafeString:
    said = _("Gone back: %(stage)s") % {"stage": _stage(row.to_stage)}
    return together(strong(said), _from_stage(row))


def _given_up(row: HappenedBy, _clipped: Measured | None) -> SafeString:
    return together(strong(_("Given up")), _from_stage(row))


def _worked(row: HappenedBy, clipped: Measured | None) -> SafeString:
    if clipped is None or row.taken_back_at is not None:
        return work(row)
    return together(work(row), quiet(_("%(mm)s in all") % {"mm": with_doubt(clipped, "clipped")}))


def _moved(row: HappenedBy, _clipped: Measured | None) -> SafeString:
    return strong(_("Moved to the sheet %(sheet)s, version %(n)s") % _sheet(row))


def _lived(row: HappenedBy, _clipped: Measured | None) -> SafeString:
    return strong(capfirst(str(EventKind(row.kind).label)))


def _felt(row: HappenedBy, _clipped: Measured | None) -> SafeString:
    return strong(_("Wet cane felt: %(feel)s") % {"feel": _(Flexibility(row.feel).label)})


WORDS: dict[str, Callable[[HappenedBy, Measured | None], SafeString]] = {
    EventKind.MADE: _made,
    EventKind.STAGE: _stepped,
    EventKind.BACK: _gone_back,
    EventKind.GIVEN_UP: _given_up,
    EventKind.CLIP: _worked,
    EventKind.SCRAPE: _worked,
    EventKind.PATTERN: _moved,
    EventKind.PLAYED: _lived,
    EventKind.SOFT: _lived,
    EventKind.AWAY: _lived,
    EventKind.FEEL: _felt,
}


def _sheet(row: HappenedBy) -> dict[str, object]:
    return {"sheet": row.sheet, "n": row.version}


def _stage(word: str) -> str:
    return _(Stage(word).label) if word else ""


def _from_stage(row: HappenedBy) -> SafeString:
    return quiet(_("from %(stage)s") % {"stage": _stage(row.from_stage)})


def from_log(log: uuid.UUID | None) -> SafeString:
    """Say that something came with a list kept elsewhere, where it did."""
    if log is None:
        return NOTHING
    return format_html('<span class="quiet small">{}</span>', _("from a list that was brought in"))


def numbers(rows: Iterable[Noted], known: Known, log: uuid.UUID | None) -> SafeString:
    """Return numbers that were entered together."""
    said = ((capfirst(_(known[row.quantity].name)), *_reading(row, known)) for row in rows)
    return format_html(READINGS, format_html_join("", READING, said), from_log(log))


def _reading(row: Noted, known: Known) -> tuple[str, SafeString]:
    quantity = known[row.quantity]
    words = noted_of(quantity, row.measured, row.word)
    if row.word and quantity.at_bench:
        return words, NOTHING
    way = _(Method(row.method).label)
    wet = "" if row.moisture == Moisture.UNKNOWN else f", {_(Moisture(row.moisture).label)}"
    return words, quiet(way + wet)


def test(row: Tried) -> SafeString:
    """Return a playing test with its ratings."""
    blows = quiet(_("to blow: %(effort)s") % {"effort": BLOWS[row.effort]}) if row.effort else NOTHING
    ratings = ((capfirst(played(one.item)), rated(one)) for one in row.ratings)
    said = spoken(strong(_("Played")), blows, from_log(row.log))
    return said + format_html(READINGS, format_html_join("", RATING, ratings), NOTHING)


def photos(rows: Sequence[Photo], member: Member) -> SafeString:
    """Return photos that were sent together."""
    shown = ((_photo(photo, n, member),) for n, photo in enumerate(rows, 1))
    return format_html(PHOTOS, format_html_join("", "<li>{}</li>", shown))


def _photo(photo: Photo, n: int, member: Member) -> SafeString:
    if photo.hidden_words:
        return quiet(capfirst(photo.hidden_words))
    if not photo.is_ready:
        return quiet(f"{photo.get_state_display()} {photo.refusal}")
    screen, upright, thumbnail = (
        member.to("reeds:photo", photo.pk, size) for size in ("screen", "upright", "thumbnail")
    )
    measure, word = NOTHING, _("Photo")
    if not member.is_guardian:
        there = member.to("reeds:measure", photo.pk)
        measure = format_html(MEASURE, there, _("measure"), _("on the photo"), n)
    named = photo.get_view_display() if photo.view else f"{word} {n}"
    return format_html(THUMB, screen, upright, photo.width, photo.height, thumbnail, named, measure)


def takes(rows: Sequence[TakeInWords], member: Member) -> SafeString:
    """Return recordings that were made together."""
    told = ngettext("Recorded", "Recorded: %(n)s", len(rows)) % {"n": len(rows)}
    said = (
        (member.to("reeds:take", one.take.pk), capfirst(one.take.get_item_display()), _heard(one))
        for one in rows
    )
    return spoken(strong(told)) + format_html(
        '<ul class="moment-takes">{}</ul>', format_html_join("", TAKE, said)
    )


def _heard(one: TakeInWords) -> SafeString:
    if one.take.is_waiting:
        return quiet(str(one.take.get_state_display()))
    if one.take.is_refused:
        return quiet(_(one.take.refusal))
    words = format_html("<span>{}</span>", " · ".join(one.in_words))
    return together(words, quiet(one.take.hidden_words))


def erased(photos: int, takes: int) -> SafeString:
    """Say how many photos and recordings were erased together."""
    said = []
    if photos:
        some = ngettext(
            "A photo was erased; its numbers stay.", "%(n)s photos were erased; their numbers stay.", photos
        )
        said.append(some % {"n": photos})
    if takes:
        some = ngettext(
            "A recording was erased; its numbers stay.",
            "%(n)s recordings were erased; their numbers stay.",
            takes,
        )
        said.append(some % {"n": takes})
    return format_html('<p class="moment-what quiet">{}</p>', " ".join(said))
