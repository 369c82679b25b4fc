"""Queries that pages ask all day: the SQL of each is written once, and asked with other numbers from then on.

Django writes the SQL of a query anew each time it is asked, which takes longer than most answers do. A
function under `prepared` makes one query from whoever asks, numbers, days and times; what it makes the first
time is kept with its connection, as text with places where those go. So it may look at nothing else that
changes: a query with a time of its own is refused.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import wraps
from typing import Any, TypeAlias, TypeVar, TypeVarTuple

from django.db import DEFAULT_DB_ALIAS, connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import QuerySet

from studio.access import Seer

Given = TypeVarTuple("Given")
Got = TypeVar("Got")
Reader: TypeAlias = Callable[[Iterable[Sequence[Any]]], Iterator[list[Any]]]

# what stands where a number or a time goes while the SQL is written: none of ours is this, or so far away
FAR = 2_000_000_000
FAR_DAY = dt.datetime(9000, 1, 1, tzinfo=dt.UTC)
STAND_INS = (int, dt.date, dt.datetime)
# of the places, how many are the member's own: a teacher's query may do without
OF_MEMBER = 2
# where a connection has its statements: they end with it
KEPT = "statements_of_pages"
# no row has a number beyond it, and no driver takes one
LARGEST = 2**63 - 1
# more are not kept: what is narrowed by words can be asked for in thousands of ways
MOST = 500
A_TIME = re.compile(r"\d{4}-\d\d-\d\d")


@dataclass(frozen=True)
class _Whoever:
    """Stands for the member who asks, of whom only the role is known yet."""

    pk: int
    studio_id: int
    teaches: bool
    leads: bool
    is_guardian: bool = False

    @property
    def sees_rows_of(self) -> list[int]:
        return [self.pk]


def anybody_of(studio_id: int) -> Seer:
    """Return somebody of a studio, for a query that asks of nobody more than that."""
    return _Whoever(0, studio_id, teaches=False, leads=False)


class _Statement:
    """One query with its SQL and where in it what is given goes; of one connection, so of one thread."""

    # what of Django has no types: how a query is compiled, and how its rows become objects
    compiler: Any
    rows: Any

    def __init__(
        self, rows: QuerySet[Any, Any], places: Sequence[object], using: BaseDatabaseWrapper
    ) -> None:
        self.rows, self.using = rows, using
        self.compiler = compiler = rows.query.get_compiler(connection=using)
        self.sql, params = compiler.as_sql()
        stand = {_as_sent(place, using): at for at, place in enumerate(places)}
        self.params: list[tuple[Any, int | None]] = [
            (param, stand.get(param) if isinstance(param, Hashable) else None) for param in params
        ]
        self._refuse_what_changes(len(places))
        # which columns are read, and how: the same each time
        columns = [column for column, *_ in (compiler.select or ())[: compiler.col_count]]
        converters = compiler.get_converters(columns)
        read = _reader(converters, using)
        self.compiler.get_converters = lambda _columns: converters
        self.compiler.apply_converters = lambda rows, _converters: read(rows)
        self.rows.query.get_compiler = lambda *_, **__: compiler

    def _refuse_what_changes(self, places: int) -> None:
        used = {at for _, at in self.params if at is not None}
        if not used.issuperset(range(OF_MEMBER, places)) or self.rows._prefetch_related_lookups:
            raise ValueError(f"Something given is no part of the query: {self.sql}")
        own = [str(param) for param, at in self.params if at is None]
        if any(A_TIME.match(param) for param in own):
            raise ValueError(f"This time would stay as it is now: {own}")

    def ask(self, given: Sequence[Any]) -> list[Any]:
        """Return what it finds with these in their places."""
        params = tuple(param if at is None else self._sent(param, given[at]) for param, at in self.params)
        self.compiler.as_sql = lambda *_, **__: (self.sql, params)
        return list(self.rows._iterable_class(self.rows))

    def _sent(self, stood: object, given: object) -> object:
        # by its type PostgreSQL's driver is told of which size a number is
        return type(stood)(given) if isinstance(stood, int) else _as_sent(given, self.using)  # type: ignore[call-overload]


def _reader(converters: Mapping[int, Any], using: BaseDatabaseWrapper) -> Reader:
    """Return what makes values of rows as the driver gives them.

    A time of SQLite's, without a zone and in UTC, is given one by Python alone: a tenth of the work. Only
    of a column the driver knows that it is a time; of what is reckoned it has the text.
    """
    each = [(at, one, of) for at, (found, of) in converters.items() for one in found]
    times = [at for at, one, _ in each if _is_time(one, using)]
    others = [(at, one, of) for at, one, of in each if not _is_time(one, using)]

    def read(rows: Iterable[Sequence[Any]]) -> Iterator[list[Any]]:
        for row in map(list, rows):
            for at in times:
                if (time := row[at]) is not None:
                    naive = dt.datetime.fromisoformat(time) if isinstance(time, str) else time
                    row[at] = naive.replace(tzinfo=dt.UTC)
            for at, convert, of in others:
                row[at] = convert(row[at], of, using)
            yield row

    return read


def _is_time(converter: Callable[..., Any], using: BaseDatabaseWrapper) -> bool:
    return using.vendor == "sqlite" and converter == using.ops.convert_datetimefield_value  # type: ignore[attr-defined]


def prepared(
    build: Callable[[Seer, *Given], QuerySet[Any, Got]],
) -> Callable[[Seer, *Given], list[Got]]:
    """Have what a function builds for whoever asks be written once; its caller gets the rows.

    A number, a day, a time and a tuple of numbers may be others each time; for each other word given another
    query is written, and for each role. A tuple is what a row must be among: of none there is none, and by a
    number too large for any row. What a guardian may see is written anew: it asks for their children.
    """

    @wraps(build)
    def rows(member: Seer, *args: *Given) -> list[Got]:
        if () in args:
            return []
        if member.is_guardian or any(_is_far(arg) for arg in args):
            return list(build(member, *args))
        using = connections[DEFAULT_DB_ALIAS]
        statements: dict[Hashable, _Statement] = vars(using).setdefault(KEPT, {})
        spread = [_spread(arg) for arg in args]
        kinds = tuple(kind for kind, _ in spread)
        asked = (build, member.teaches, member.leads, kinds)
        if asked not in statements:
            if len(statements) >= MOST:
                statements.clear()
            statements[asked] = _written(build, member, kinds, using)
        given = [member.pk, member.studio_id, *(one for _, some in spread for one in some)]
        if any(isinstance(one, int) and one > LARGEST for one in given):
            return []
        return statements[asked].ask(given)

    return rows


def _is_far(arg: object) -> bool:
    """Whether it is a number that no row has: Django finds nothing, a database may refuse it."""
    return type(arg) is int and arg >= FAR


def _spread(arg: Any) -> tuple[Any, list[Any]]:  # noqa: ANN401  # whatever a query is made of
    """Return of which kind something given is, and what of it goes into the query's places.

    A list is as long as the next power of two: its last number stands once more.
    """
    if type(arg) is tuple:
        length = 1 << (len(arg) - 1).bit_length()
        return (length,), [*arg, *[arg[-1]] * (length - len(arg))]
    kind: type[Any] = type(arg)
    return (kind, [arg]) if kind in STAND_INS else (arg, [])


def _written(
    build: Callable[..., QuerySet[Any, Any]],
    member: Seer,
    kinds: Sequence[Hashable],
    using: BaseDatabaseWrapper,
) -> _Statement:
    places: list[object] = [FAR, FAR + 1]
    whoever = _Whoever(FAR, FAR + 1, member.teaches, member.leads)
    args = [_standing(kind, places) for kind in kinds]
    return _Statement(build(whoever, *args), places, using)


def _standing(kind: Hashable, places: list[object]) -> object:
    """Return what stands for something of this kind, and note its places."""
    if type(kind) is tuple:
        return tuple(_standing(int, places) for _ in range(kind[0]))
    if kind not in STAND_INS:
        return kind
    far = FAR_DAY + dt.timedelta(days=len(places))
    stands = FAR + len(places) if kind is int else far if kind is dt.datetime else far.date()
    places.append(stands)
    return stands


def _as_sent(given: object, using: BaseDatabaseWrapper) -> object:
    """Return it as the database's driver is given it."""
    if isinstance(given, dt.datetime):
        return using.ops.adapt_datetimefield_value(given)
    return using.ops.adapt_datefield_value(given) if isinstance(given, dt.date) else given
