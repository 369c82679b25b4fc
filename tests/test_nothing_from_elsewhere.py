"""No page loads anything from elsewhere: no analytics, no fonts, no pictures of others."""

import re
from pathlib import Path

from django.conf import settings

ROOT = Path(__file__).parent.parent
# what a browser fetches by itself, without anybody's tap
LOADED = re.compile(
    r"<(?:script|img|iframe|audio|video|source|embed|object|link)\b[^>]*?(?:src|href|data)\s*=\s*[\"']?(?:https?:)?//"
    r"|url\(\s*[\"']?(?:https?:)?//|@import\s+[\"'](?:https?:)?//"
    r"|\b(?:fetch|import|sendBeacon|EventSource|WebSocket|Worker)\s*\(\s*[\"'`](?:https?:|wss?:)?//"
    r"|\bfrom\s+[\"'](?:https?:)?//",
    re.IGNORECASE,
)


def test_nothing_is_loaded_from_elsewhere():
    files = [*(ROOT / "templates").rglob("*.*"), *(ROOT / "static").rglob("*.*")]
    texts = {one: one.read_text() for one in files if one.suffix in {".html", ".svg", ".css", ".js", ".txt"}}
    assert len(texts) > 100
    assert [one.name for one, text in texts.items() if LOADED.search(text)] == []


def test_that_pattern_sees_what_it_should():
    for wrong in (
        '<script defer src="https://example.org/count.js">',
        "<img alt='' src='//example.org/dot.gif'>",
        '<link rel="stylesheet" href="https://example.org/font.css">',
        "background: url(https://example.org/a.png)",
        'navigator.sendBeacon("https://example.org/")',
        'import x from "https://example.org/x.js"',
    ):
        assert LOADED.search(wrong), wrong
    for right in ('<a href="https://example.org/">', '<img src="/static/a.svg">', 'fetch("/studio/1/")'):
        assert not LOADED.search(right), right


def test_browsers_are_told_to_load_nothing_from_elsewhere():
    directives = settings.CONTENT_SECURITY_POLICY["DIRECTIVES"]
    assert directives["default-src"] == ["'self'"]
    allowed = {source for sources in directives.values() for source in sources}
    assert allowed <= {"'self'", "'none'", "blob:", "data:"}
