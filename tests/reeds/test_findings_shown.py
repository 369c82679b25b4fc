"""Findings as a page shows them: what is too close to call is told together."""

from django.template.loader import render_to_string

from reeds.checks.findings import Finding, Outcome
from reeds.templatetags.findings import doubtful, without


def close(key):
    return Finding(
        check="limits", outcome=Outcome.TOO_CLOSE, quantity=key, message="%(n)s lies near.", params={"n": key}
    )


FAULT = Finding(check="limits", outcome=Outcome.ABOVE, quantity="gouge", message="Too thick.")


def test_several_too_close_to_call_are_one_thing_to_do():
    page = render_to_string("reeds/reed/_findings.html", {"findings": [close("a"), FAULT, close("b")]})
    assert page.count('class="finding ') == 2
    assert "2 numbers too close to call" in page
    assert page.index("Too thick.") < page.index("A lies near.") < page.index("B lies near.")


def test_one_alone_stands_by_itself():
    page = render_to_string("reeds/reed/_findings.html", {"findings": [close("a"), FAULT]})
    assert "numbers too close" not in page
    assert page.count('class="finding ') == 2


def test_nothing_is_lost_between_the_two():
    found = [close("a"), FAULT, close("b")]
    assert [*without(found, doubtful(found)), *doubtful(found)] == [FAULT, found[0], found[2]]
