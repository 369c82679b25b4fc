"""The colours of static/css/tokens.css, for what a browser draws itself around our pages."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

from django.conf import settings

FILE = Path(settings.BASE_DIR) / "static" / "css" / "tokens.css"
NIGHT = "@media (prefers-color-scheme: dark)"
COLOUR = re.compile(r"--([\w-]+):\s*(#[0-9a-fA-F]{6});")


@cache
def colours(by_night: bool = False) -> dict[str, str]:
    """Return all colours by their names; by night those of the day where there is no other."""
    day, _night, night = FILE.read_text().partition(NIGHT)
    return dict(COLOUR.findall(day + night if by_night else day))
