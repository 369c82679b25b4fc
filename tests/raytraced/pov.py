"""Scene text to linear light by POV-Ray, kept by the text's own hash so that nothing is drawn twice."""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import tempfile
import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

Array = npt.NDArray[Any]
PROGRAM = "povray"
HEAD = '#version 3.7;\nglobal_settings { assumed_gamma 1.0 max_trace_level 6 }\n#include "woods.inc"\n'
MISSING = "The ray tracer is missing: install the packages 'povray' and 'povray-includes' (Debian's names)."


@dataclass(frozen=True)
class Scene:
    """What POV-Ray is given: text, the pictures it refers to by name (PNG), width and height in px."""

    text: str
    size: tuple[int, int]
    images: Mapping[str, bytes] = field(default_factory=dict)

    @property
    def key(self) -> str:
        """The scene's hash: the same scene has the same."""
        whole = hashlib.sha256(f"{self.size}{self.text}".encode())
        for name in sorted(self.images):
            whole.update(self.images[name])
        return whole.hexdigest()[:24]


def installed() -> bool:
    """Tell whether the ray tracer is there."""
    return shutil.which(PROGRAM) is not None


def folder() -> Path:
    """Return where pictures are kept: RAYTRACED_CACHE, or a folder of the system's temporary one."""
    given = os.environ.get("RAYTRACED_CACHE")
    place = Path(given) if given else Path(tempfile.gettempdir()) / "raytraced-reeds"
    place.mkdir(parents=True, exist_ok=True)
    return place


def render(scene: Scene) -> tuple[Array, float]:
    """Return linear light, (height, width, 3) float32, 1 = white, and the seconds it took (0 if kept).

    Raises
    ------
    RuntimeError
        If POV-Ray is missing or fails; with what it said.
    """
    kept = folder() / f"{scene.key}.png"
    began = time.monotonic()
    drawn = not kept.exists()
    if drawn:
        _draw(scene, kept)
    seen = cv2.imread(str(kept), cv2.IMREAD_UNCHANGED)[..., 2::-1]
    return seen.astype(np.float32) / 65535, time.monotonic() - began if drawn else 0.0


def _draw(scene: Scene, kept: Path) -> None:
    if not installed():
        raise RuntimeError(MISSING)
    with tempfile.TemporaryDirectory(prefix="raytraced-") as work:
        for name, data in scene.images.items():
            (Path(work) / name).write_bytes(data)
        (Path(work) / "scene.pov").write_text(scene.text)
        width, height = scene.size
        done = subprocess.run(  # noqa: S603  # our own scene, our own program
            [PROGRAM, "+Iscene.pov", "+Oout.png", f"+W{width}", f"+H{height}", "+FN16", "File_Gamma=1.0",
             "+A0.08", "+AM2", "+R2", "-D", "-P", "-V", "-GA"],
            cwd=work, capture_output=True, text=True, check=False,
        )  # fmt: skip
        out = Path(work) / "out.png"
        if done.returncode or not out.exists():
            raise RuntimeError(done.stderr[-2000:])
        shutil.move(str(out), kept)


def mesh(points: Array, normals: Array | None, faces: Array, look: str, uv: Array | None = None) -> str:
    """Return a mesh2 of points (n, 3), normals (n, 3), faces (m, 3) and places on its picture (n, 2)."""
    parts = [f"vertex_vectors {{ {len(points)}, {_rows(points)} }}"]
    if normals is not None:
        parts.append(f"normal_vectors {{ {len(normals)}, {_rows(normals)} }}")
    if uv is not None:
        parts.append(f"uv_vectors {{ {len(uv)}, {_rows(uv)} }}")
    parts.append(f"face_indices {{ {len(faces)}, {_rows(faces)} }}")
    return "mesh2 {\n" + "\n".join(parts) + f"\n{look} }}\n"


def _rows(rows: Array) -> str:
    form = "<" + ",".join(["%.6g"] * rows.shape[1]) + ">"
    return ",".join([form % tuple(row) for row in rows.tolist()])


def grid_faces(rows: int, columns: int) -> Array:
    """Return the triangles, (m, 3), of a grid of points laid row by row."""
    at = np.arange(rows * columns).reshape(rows, columns)
    a, b, c, d = at[:-1, :-1].ravel(), at[:-1, 1:].ravel(), at[1:, 1:].ravel(), at[1:, :-1].ravel()
    return np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])


def grid(points: Array, look: str, uv: Array | None = None) -> str:
    """Return a smooth mesh of a grid of points, (rows, columns, 3)."""
    rows, columns = points.shape[:2]
    du, dv = np.gradient(points, axis=0), np.gradient(points, axis=1)
    normals = np.cross(du, dv).reshape(-1, 3)
    length = np.linalg.norm(normals, axis=1, keepdims=True)
    normals = np.where(length > 1e-12, normals / np.maximum(length, 1e-12), [0, 0, 1.0])
    flat = None if uv is None else uv.reshape(-1, 2)
    return mesh(points.reshape(-1, 3), normals, grid_faces(rows, columns), look, flat)


def placed(parts: str, axes: Array, origin: Array) -> str:
    """Return parts built on own axes, (3, 3) rows of along, across, up, as they stand in the world."""
    numbers = ",".join(f"{float(v):.8g}" for v in np.vstack([axes, origin]).ravel())
    return f"union {{\n{parts}\nmatrix <{numbers}> }}\n"
