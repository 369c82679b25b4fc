"""A mark on a take: a span of time with words, and the W3C Web Annotation it is kept as.

Convention: times are seconds from the first sample of the recording.
"""

from __future__ import annotations

import math
import re
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from lessons.answering.annotation import UNREADABLE, MarkRefused, annotation_of, read_words, words_of
from reeds.numbers.words import gettext_noop as _

KIND = "span"
# of the Media Fragments URI 1.0, which the selector's value follows
CONFORMS_TO = "http://www.w3.org/TR/media-frags/"
SHORTEST_S = 0.05
LATEST_S = 200.0

TOO_SHORT = _("This span is too short. Drag over what you mean.")
OUTSIDE_TAKE = _("This span lies outside the recording.")


@dataclass(frozen=True)
class Span:
    """One span of a take.

    Attributes
    ----------
    start_s, end_s : float
        Seconds from the beginning, 0 <= start_s < end_s, kept to the millisecond.
    words : str
        What is said of it, at most 1000 letters, '' for nothing.
    """

    start_s: float
    end_s: float
    words: str = ""


def read_span(given: Mapping[str, Any], duration_s: float = LATEST_S) -> Span:
    """Return the span that a page sent as plain data (kind, start, end, words).

    duration_s  of the take, s; a span may end a tenth of a second after it, since players round

    Raises MarkRefused, with a sentence, for whatever is not exactly that; keys it does not know are dropped.
    """
    if given.get("kind") != KIND:
        raise MarkRefused(UNREADABLE)
    start, end = _seconds(given.get("start")), _seconds(given.get("end"))
    if start < 0 or end > duration_s + 0.1:
        raise MarkRefused(OUTSIDE_TAKE)
    if end - start < SHORTEST_S:
        raise MarkRefused(TOO_SHORT)
    return Span(round(start, 3), round(end, 3), read_words(given))


def _seconds(given: object) -> float:
    if isinstance(given, bool) or not isinstance(given, int | float) or not math.isfinite(given):
        raise MarkRefused(UNREADABLE)
    return float(given)


def _npt(seconds: float) -> str:
    return f"{seconds:.3f}".rstrip("0").rstrip(".")


def span_annotation(span: Span, key: uuid.UUID, language: str = "en") -> dict[str, Any]:
    """Return the span as a Web Annotation without what only an export knows: address, maker and time.

    Source: W3C Recommendation 'Web Annotation Data Model', 23 February 2017, 4.2.1 (Fragment Selector);
    W3C Recommendation 'Media Fragments URI 1.0 (basic)', 25 September 2012, 4.2.1 (t=start,end in seconds).
    """
    fragment = f"t={_npt(span.start_s)},{_npt(span.end_s)}"
    selector = {"type": "FragmentSelector", "conformsTo": CONFORMS_TO, "value": fragment}
    return annotation_of(span.words, key, selector, language)


_FRAGMENT = re.compile(r"t=([0-9]+(?:\.[0-9]+)?),([0-9]+(?:\.[0-9]+)?)")


def span_of(annotation: Mapping[str, Any]) -> Span:
    """Return the span that `span_annotation` wrote.

    Raises MarkRefused for any other annotation.
    """
    selector = (annotation.get("target") or {}).get("selector") or {}
    found = _FRAGMENT.fullmatch(str(selector.get("value", "")))
    if found is None or selector.get("type") != "FragmentSelector":
        raise MarkRefused(UNREADABLE)
    start, end = (float(second) for second in found.groups())
    return read_span({"kind": KIND, "start": start, "end": end, "words": words_of(annotation)})
