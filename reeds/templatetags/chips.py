"""A row of short words of which one is tapped: `{% chips 'moisture' form.moisture.value choices %}`."""

from __future__ import annotations

from collections.abc import Iterable

from django import template
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe

register = template.Library()

CHIP = """<label class="chip">
  <input type="radio"{} name="{}" value="{}"{}><span>{}</span>
</label>"""
CHECKED = mark_safe(" checked")


@register.simple_tag
def chips(name: str, chosen: object, choices: Iterable[tuple[object, object]], id_of: str = "") -> SafeString:
    """Return a radio button in its label for each choice; `id_of` is what their ids begin with, if any do."""
    now = "" if chosen is None else str(chosen)
    return format_html_join(
        "\n",
        CHIP,
        (
            (
                format_html(' id="{}_{}"', id_of, n) if id_of else "",
                name,
                value,
                CHECKED if str(value) == now else "",
                label,
            )
            for n, (value, label) in enumerate(choices)
        ),
    )
