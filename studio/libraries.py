"""The libraries that run with us, as the lock names them: their licences, and a bill of them all (CycloneDX).

A licence is what a library says of itself. What a wheel carries inside it does not say: pillow-heif's holds
GPL code, one of the reasons why we are GPL ourselves.
"""

from __future__ import annotations

import re
import uuid
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, metadata

from packaging.markers import Marker

OURS = "GPL-3.0-or-later"
# what may be part of a work under ours: by the Free Software Foundation's list of licences, as remembered
COMPATIBLE_NAMES = (
    *("0BSD", "Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "CC0-1.0", "GPL-2.0-or-later", OURS, "ISC"),
    *(
        "LGPL-2.1-or-later",
        "LGPL-3.0-only",
        "LGPL-3.0-or-later",
        "MIT",
        "MIT-0",
        "MIT-CMU",
        "MPL-2.0",
        "PSF-2.0",
        "Zlib",
    ),
)
# the same said in words
COMPATIBLE_WORDS = (
    *("Apache Software License", "BSD", "BSD License", "MIT License"),
    "GNU General Public License v3 or later (GPLv3+)",
)
COMPATIBLE = frozenset((*COMPATIBLE_NAMES, *COMPATIBLE_WORDS))
SHORT = frozenset((*COMPATIBLE_NAMES, "MPL-1.1"))
# where the metadata say nothing, or several things of which one may choose; from the library's own notice
DECLARED = {
    "pyphen": "GPL-2.0-or-later OR LGPL-2.1-or-later OR MPL-1.1",
    "fido2": "BSD-2-Clause AND Apache-2.0 AND MPL-2.0",
    "qrcode": "BSD-3-Clause AND MIT",
    "python-dateutil": "BSD-3-Clause AND Apache-2.0",
    # for PyPy and for Windows alone, so not here to be asked; from memory
    "brotlicffi": "MIT",
    "colorama": "BSD-3-Clause",
}
LINE = re.compile(r"^([\w.-]+)(?:\[[\w,-]+\])?==([^\s;]+)(?:\s*;\s*([^\\\n]+))?", re.MULTILINE)
APPROVED = re.compile(r"License :: (?:OSI Approved :: )?(.+)")
LONGEST = 60  # a longer word on the licence is its text


@dataclass(frozen=True)
class Library:
    """One line of the lock."""

    name: str
    version: str
    marker: str = ""

    @property
    def is_for_here(self) -> bool:
        return not self.marker or Marker(self.marker).evaluate()

    @property
    def licence(self) -> str:
        """Return an SPDX expression or the library's own words, empty where it is not known."""
        return DECLARED.get(self.name) or _said(self.name)

    @property
    def is_compatible(self) -> bool:
        return is_compatible(self.licence)


def locked(lock: str) -> list[Library]:
    """Return what a lock names, in its order; for other machines too."""
    return [Library(name, version, marker.strip()) for name, version, marker in LINE.findall(lock)]


def _said(name: str) -> str:
    """Return what the version that is installed says; of several answers none."""
    try:
        told = metadata(name)
    except PackageNotFoundError:
        return ""
    named = [found[1] for line in told.get_all("Classifier", []) if (found := APPROVED.fullmatch(line))]
    words = _only(told.get_all("License", [])).strip()
    short = words if len(words) <= LONGEST and "\n" not in words else ""
    return _only(told.get_all("License-Expression", [])) or (_only(named) if named else short)


def _only(said: list[str]) -> str:
    return said[0] if len(said) == 1 else ""


def is_compatible(licence: str) -> bool:
    """Whether every part may be part of our work; brackets can make this too strict, never too lax."""
    if licence in COMPATIBLE:
        return True
    parts = re.sub(r"[()]", "", licence).split(" AND ")
    return all(any(one.strip() in COMPATIBLE for one in part.split(" OR ")) for part in parts)


def bill(lock: str, version: str) -> dict[str, object]:
    """Return the bill of what the lock has installed here; the same lock gives the same bill."""
    ours = {"type": "application", "name": "reed-studio", "version": version, "licenses": _licences(OURS)}
    return {
        "bomFormat": "CycloneDX",
        "specVersion": "1.6",
        "serialNumber": f"urn:uuid:{uuid.uuid5(uuid.NAMESPACE_OID, lock)}",
        "version": 1,
        "metadata": {"component": ours},
        "components": [_component(library) for library in locked(lock) if library.is_for_here],
    }


def _component(library: Library) -> dict[str, object]:
    purl = f"pkg:pypi/{library.name}@{library.version}"
    about = {"type": "library", "bom-ref": purl, "name": library.name, "version": library.version}
    return {**about, "purl": purl, "licenses": _licences(library.licence)}


def _licences(licence: str) -> list[dict[str, object]]:
    """Return them as CycloneDX has them: an expression of SPDX's short names, or words where it is none."""
    if set(re.sub(r"[()]", "", licence).replace(" AND ", " OR ").split(" OR ")) <= SHORT:
        return [{"expression": licence}]
    return [{"license": {"name": licence or "not known"}}]
