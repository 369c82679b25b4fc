"""Jobs on what people sent, done in a process of their own; however one ends, there is a sentence for it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from reeds.numbers.words import Refused, gettext_noop
from studio.confined import pool

BROKE = gettext_noop(
    "The program that read this file broke off. Take or record it again. "
    "If that does not help, tell your teacher."
)
NOT_DONE = gettext_noop("The server could not work this through. Send it again, or tell your teacher.")


def apart(job: str, *given: object) -> Any:  # noqa: ANN401  # what the job gave
    """Do the job `module:function` with plain values; return the plain values it gives.

    Raises Refused with a sentence for people, also where its process died.
    """
    return next(in_parts(job, *given))


def in_parts(job: str, *given: object) -> Iterator[Any]:
    """Do a job that is a generator; each part is here as soon as it is made. Raises as `apart`."""
    try:
        yield from pool.parts(job, *given)
    except pool.Refusal as refusal:
        raise Refused(refusal.sentence, **refusal.params) from None
    except pool.Broke:
        raise Refused(BROKE) from None
