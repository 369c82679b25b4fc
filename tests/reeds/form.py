"""What a page's own form would send: every field with the value it shows."""

from __future__ import annotations

from html.parser import HTMLParser


class _Fields(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.values: dict[str, str] = {}
        self._select = ""
        self._textarea = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        name = given.get("name") or ""
        if tag == "input" and name and given.get("type") not in ("submit", "file"):
            if given.get("type") not in ("checkbox", "radio"):
                self.values[name] = given.get("value") or ""
            elif "checked" in given:
                self.values[name] = given.get("value", "on") or ""
        elif tag == "select":
            self._select = name
        elif tag == "option" and self._select:
            if self._select not in self.values or "selected" in given:
                self.values[self._select] = given.get("value") or ""
        elif tag == "textarea":
            self._textarea = name
            self.values[name] = ""

    def handle_endtag(self, tag: str) -> None:
        self._select = "" if tag == "select" else self._select
        self._textarea = "" if tag == "textarea" else self._textarea

    def handle_data(self, data: str) -> None:
        if self._textarea:
            self.values[self._textarea] += data


def fields_of(response: object, action: str = "") -> dict[str, str]:
    """Return the fields of a page's form; with `action`, of the form whose action ends so."""
    html = response.content.decode()
    parts = html.split("<form")[1:]
    wanted = [part for part in parts if f'{action}"' in part.split(">", 1)[0]] if action else parts
    parser = _Fields()
    for part in wanted:
        parser.feed("<form" + part.split("</form>")[0])
    return parser.values
