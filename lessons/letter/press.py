"""A page of HTML pressed into a tagged PDF, in a process of its own that reaches no network and no file.

`pressed` starts this module as a child and waits at most so long; the child is given the page, its styles and
its pictures, and whatever else the page asks for is refused.
"""

from __future__ import annotations

import base64
import json
import os
import subprocess
import sys
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent.parent
# a letter takes a second, of which WeasyPrint's import is the most; a machine may be busy
LONGEST_S = 60.0
# seconds of one processor: what runs longer has lost its way
CPU_S = 40
NO_LIBRARIES = 3
# where the page and its styles think they lie; nobody is ever asked for it
BASE = "https://letter.example/"


class PressFailed(Exception):
    """No PDF came of it."""


class PressMissing(PressFailed):
    """This machine lacks the libraries that set type (Pango)."""


@dataclass(frozen=True)
class Sheet:
    """What is pressed.

    Attributes
    ----------
    html : str
        A whole page; its `lang` and `title` become the document's.
    styles : tuple of str
        Style sheets as text, applied in this order.
    pictures : mapping of path to bytes
        Every picture that page and styles may name, JPEG or SVG, by its path below `BASE`.
    """

    html: str
    styles: tuple[str, ...] = ()
    pictures: Mapping[str, bytes] = field(default_factory=dict)


@dataclass(frozen=True)
class Pressed:
    """A PDF (PDF/UA-1, tagged, fonts embedded) and of how many pages it is."""

    pdf: bytes
    pages: int


def pressed(sheet: Sheet, longest_s: float = LONGEST_S, hidden: Collection[str] = ()) -> Pressed:
    """Press a sheet in a child process.

    Parameters
    ----------
    sheet : Sheet
    longest_s : float
        After so many seconds the child is ended.
    hidden : collection of str
        Names of variables of the environment that the child is not given.

    Returns
    -------
    Pressed

    Raises
    ------
    PressMissing
        If Pango is not installed.
    PressFailed
        If the child took too long or ended badly.
    """
    surroundings = {name: value for name, value in os.environ.items() if name not in hidden}
    try:
        ran = subprocess.run(  # noqa: S603  # this very module
            [sys.executable, "-m", __name__],
            input=_packed(sheet),
            capture_output=True,
            cwd=ROOT,
            env=surroundings,
            timeout=longest_s,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise PressFailed(f"not done after {longest_s:g} s") from None
    if ran.returncode == NO_LIBRARIES:
        raise PressMissing(ran.stderr.decode(errors="replace")[-500:])
    if ran.returncode:
        raise PressFailed(ran.stderr.decode(errors="replace")[-500:])
    pages, _newline, pdf = ran.stdout.partition(b"\n")
    return Pressed(pdf, int(pages))


def _packed(sheet: Sheet) -> bytes:
    pictures = {name: base64.b64encode(data).decode() for name, data in sheet.pictures.items()}
    return json.dumps({"html": sheet.html, "styles": sheet.styles, "pictures": pictures}).encode()


def _unpacked(given: bytes) -> Sheet:
    told = json.loads(given)
    pictures = {name: base64.b64decode(data) for name, data in told["pictures"].items()}
    return Sheet(told["html"], tuple(told["styles"]), pictures)


# --- in the child -----------------------------------------------------------------------------------------


def only_these(pictures: Mapping[str, bytes]) -> Any:  # noqa: ANN401  # WeasyPrint's own class is untyped
    """Return a fetcher for WeasyPrint that knows these paths below `BASE` and asks nobody for another."""
    from weasyprint.urls import URLFetcher, URLFetcherResponse

    class Only(URLFetcher):  # type: ignore[misc]  # untyped
        def fetch(self, url: str, _headers: object = None) -> Any:  # noqa: ANN401
            path = url.removeprefix(BASE)
            if not url.startswith(BASE) or path not in pictures:
                raise ValueError(f"not given along: {url}")
            kind = "image/svg+xml" if path.endswith(".svg") else "image/jpeg"
            return URLFetcherResponse(url, pictures[path], {"Content-Type": kind})

    return Only()


def press(sheet: Sheet) -> Pressed:
    """Press a sheet here and now; `pressed` is what to call."""
    from weasyprint import CSS, HTML  # most of a second

    fetcher = only_these(sheet.pictures)
    styles = [CSS(string=one, base_url=f"{BASE}css/", url_fetcher=fetcher) for one in sheet.styles]
    page = HTML(string=sheet.html, base_url=BASE, url_fetcher=fetcher)
    document = page.render(stylesheets=styles)
    return Pressed(document.write_pdf(pdf_variant="pdf/ua-1", pdf_tags=True), len(document.pages))


def _limit() -> None:
    import resource  # there is none on Windows, and there the waiting alone limits it

    resource.setrlimit(resource.RLIMIT_CPU, (CPU_S, CPU_S))


def main() -> int:
    """Press what stands on standard input; pages and PDF go to standard output."""
    if os.name == "posix":
        _limit()
    try:
        import weasyprint  # noqa: F401
    except OSError as missing:
        sys.stderr.write(str(missing))
        return NO_LIBRARIES
    done = press(_unpacked(sys.stdin.buffer.read()))
    sys.stdout.buffer.write(b"%d\n" % done.pages + done.pdf)
    return 0


if __name__ == "__main__":
    sys.exit(main())
