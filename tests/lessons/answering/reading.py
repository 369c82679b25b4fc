"""What of a page can be read before anything is unfolded."""

import re
from html.parser import HTMLParser

VOID = {"br", "img", "input", "link", "hr", "source"}


class Unfolded(HTMLParser):
    """Gathers what can be read before anything is unfolded."""

    def __init__(self):
        super().__init__()
        self.words = ""
        self.unseen = 0  # how many tags deep in what only a screen reader says
        self.seen = []  # one for each <details> around: whether one sees what comes

    def handle_starttag(self, tag, attrs):
        if tag not in VOID:
            self.unseen = self.unseen + 1 if self.unseen or "unseen" in dict(attrs).get("class", "") else 0
        if tag == "details":
            self.seen.append("open" in dict(attrs))
        if tag == "summary":
            self.seen.append(True)
            self.seen[-2] = True

    def handle_endtag(self, tag):
        self.unseen = max(0, self.unseen - 1) if tag not in VOID else self.unseen
        if tag == "summary":
            self.seen[-2:] = [False]
        if tag == "details":
            self.seen.pop()

    def handle_data(self, data):
        if all(self.seen) and not self.unseen:
            self.words += data


def came_in(answer):
    """Return what was sent, of the review page that was answered."""
    page = answer.content.decode()
    return page[page.index('class="review-came"') : page.index('class="review-bench"')]


def unfolded(html):
    parser = Unfolded()
    parser.feed(html)
    return parser.words


def words_in(html):
    """Return how many words can be read: whatever holds a letter or a figure."""
    return len(re.findall(r"\S*\w\S*", unfolded(html[html.index(">") + 1 :])))
