"""What a page shows at once, and what only once it is unfolded."""

from __future__ import annotations

import re
from html.parser import HTMLParser

# what a student of fifteen has not had at school, and percents
OF_STATISTICS = re.compile(
    r"wilson|probab|middle half|off the aim|median|interval|confidence|\d ?%", re.IGNORECASE
)


class _Parted(HTMLParser):
    """Sorts a page's text by whether a <details> lies around it."""

    def __init__(self) -> None:
        super().__init__()
        self.depth, self.text = 0, (list[str](), list[str]())

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.depth += tag == "details"

    def handle_endtag(self, tag: str) -> None:
        self.depth -= tag == "details"

    def handle_data(self, data: str) -> None:
        self.text[self.depth > 0].append(data)


def parted(page: str) -> tuple[str, str]:
    """Return the text that a page shows at once, and the text that lies folded."""
    parser = _Parted()
    parser.feed(page)
    at_once, folded = parser.text
    return " ".join(at_once), " ".join(folded)
