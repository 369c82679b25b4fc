"""The page's own script, run by node where there is one, gives the lengths of the shared cases."""

import json
import shutil
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[4]
CASES = json.loads((ROOT / "tests" / "data" / "projection_cases.json").read_text())
RUN = """
import { toPlane, distanceMm } from "./projection.mjs";
const cases = JSON.parse(process.argv[2]);
const found = cases.map((c) => [toPlane(c.matrix, c.start), distanceMm(c.matrix, c.start, c.stop, c.other)]);
console.log(JSON.stringify(found));
"""


@pytest.mark.skipif(
    shutil.which("node") is None, reason="no node here: the browser's run of the cases is the test"
)
def test_script_agrees_with_the_cases(tmp_path):
    (tmp_path / "projection.mjs").write_text((ROOT / "static" / "js" / "projection.js").read_text())
    (tmp_path / "run.mjs").write_text(RUN)
    done = subprocess.run(  # noqa: S603 - our own script
        [shutil.which("node"), str(tmp_path / "run.mjs"), json.dumps(CASES["cases"])],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    found = json.loads(done.stdout)
    assert len(found) == len(CASES["cases"]) > 2
    for case, (start_mm, distance) in zip(CASES["cases"], found, strict=True):
        assert start_mm == pytest.approx(case["start_mm"], abs=CASES["tolerance_mm"])
        assert distance == pytest.approx(case["distance_mm"], abs=CASES["tolerance_mm"])
