"""A list looked over: every row read and held against what is there, nothing written."""

from __future__ import annotations

from collections.abc import Iterable

from lessons.log.around import Understood
from lessons.log.found import Found
from lessons.log.models import ReedLog
from lessons.log.table.days import Order
from lessons.log.table.gathering import Gathering, rates
from lessons.log.table.lines import Line, Wrong, method_of
from lessons.log.writing.lots import lots_at_hand, named_lots
from lessons.log.writing.methods import Tools
from reeds.sheet.models.doubt import OwnDoubt


def look_over(log: ReedLog) -> Found:
    """Return what would come of a list as it stands and is chosen."""
    understood = Understood(log)
    gathering, tools = understood.gathering(), Tools(OwnDoubt.objects.of(log.studio_id))
    found = Found(open_orders=[place for place, order in understood.orders.items() if order is Order.OPEN])
    for line in gathering.take(understood.reader.lines(log.rows())):
        _count(found, line, tools)
    _count_reeds(found, log, gathering)
    found.wrong_rows = gathering.wrong_rows
    found.wrong = [list(one) for one in _by_heading(gathering.wrong, understood)]
    return found


def _count(found: Found, line: Line, tools: Tools) -> None:
    said = method_of(line)
    found.numbers += len(line.readings)
    found.usual += sum(tools.way(one, said).usual for one in line.readings)
    found.tests += rates(line)
    found.notes += "note" in line.texts


def _count_reeds(found: Found, log: ReedLog, gathering: Gathering) -> None:
    new = [one for one in gathering.reeds if one.there is None]
    found.reeds, found.added_to = len(new), len(gathering.reeds) - len(new)
    found.stage_taken = sum(not one.stage_said for one in new)
    wanted = named_lots(new)
    found.lots = len(wanted) - len(lots_at_hand(log, wanted))


def _by_heading(wrong: Iterable[Wrong], understood: Understood) -> Iterable[Wrong]:
    """What is wrong with a column is told by what stands over it in the file."""
    headings = {column.key: understood.log.headings[place] for place, column in understood.taken.items()}
    return (one._replace(heading=headings.get(one.heading, one.heading)) for one in wrong)
