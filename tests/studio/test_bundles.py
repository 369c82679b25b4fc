"""A script with all that it imports: it runs as its modules do one by one, or is refused."""

import json
import shutil
import subprocess

import pytest
from django.conf import settings

from studio import bundles

STATIC = settings.BASE_DIR / "static"
RUNS = {
    "js/page.js": (
        'import { told, Bell as Gong } from "./told.js";\nimport * as counted from "./deep/counted.js";\n'
        'import {\n  twice,\n} from "./deep/twice.js";\n'
        "const own = 1;\ntold.push(new Gong().rung(), counted.next(), twice(), own);\n"
        "export async function later() {}\nexport const all = told;\n"
    ),
    "js/told.js": 'export const told = ["first"];\nexport class Bell { rung() { return "rung"; } }\n',
    "js/deep/counted.js": 'import "./own.js";\nlet n = 0;\nexport function next() { n += 1; return n; }\n',
    "js/deep/twice.js": 'import { next } from "./counted.js";\nexport const twice = () => next() + next();\n',
    "js/deep/own.js": 'import { told } from "../told.js";\nconst own = "another own";\ntold.push(own);\n',
    "js/other.js": 'import { next } from "./deep/counted.js";\nexport const fourth = next();\n',
}


def ran(folder, script):
    """What a module says as JSON when node runs it."""
    node = shutil.which("node")
    assert node, "node is missing"
    (folder / "run.mjs").write_text(script)
    done = subprocess.run([node, folder / "run.mjs"], check=True, capture_output=True, text=True)  # noqa: S603
    return json.loads(done.stdout)


def test_modules_run_once_each_in_their_order_and_keep_their_own_names(tmp_path):
    for name in ("page", "other"):
        (tmp_path / f"{name}.mjs").write_text(bundles.of_script(f"js/{name}.js", RUNS.__getitem__))
    said = ran(
        tmp_path,
        'import { all, later } from "./page.mjs";\nimport { fourth } from "./other.mjs";\n'
        "console.log(JSON.stringify([all, typeof later, fourth]));\n",
    )
    assert said == [["first", "another own", "rung", 1, 5, 1], "function", 4]


def test_all_of_ours_are_understood_and_are_scripts_still(tmp_path):
    names = [file.relative_to(STATIC).as_posix() for file in sorted((STATIC / "js").rglob("*.js"))]
    texts = {name: (STATIC / name).read_text() for name in names}
    texts["all.js"] = "".join(f'import "./{name}";\n' for name in names)
    whole = bundles.of_script("all.js", texts.__getitem__)
    assert all(f'modulesHere["{name}"] ??=' in whole for name in names)
    (tmp_path / "whole.mjs").write_text(whole)
    subprocess.run([shutil.which("node"), "--check", tmp_path / "whole.mjs"], check=True)  # noqa: S603


REFUSED = [
    'import one from "./one.js";',
    "import { one } from './one.js';",
    'import { one } from "./one.js"',
    'import { one } from "elsewhere";',
    "export default 1;",
    "export let one = 1;",
    "export { one };",
    "export const { one } = two;",
    'export * from "./one.js";',
    "const here = import.meta.url;",
]


@pytest.mark.parametrize("line", REFUSED)
def test_what_is_written_otherwise_is_refused_by_its_name(line):
    texts = {"js/page.js": f"{line}\n", "js/one.js": "export const one = 1;\n"}
    with pytest.raises(ValueError, match=r"js/page\.js"):
        bundles.of_script("js/page.js", texts.__getitem__)


def test_a_circle_is_refused():
    texts = {"js/a.js": 'import "./b.js";\n', "js/b.js": 'import "./a.js";\n'}
    with pytest.raises(ValueError, match=r"js/a\.js imports itself by way of js/b\.js"):
        bundles.of_script("js/a.js", texts.__getitem__)


@pytest.mark.parametrize(
    "line", ['@import "one.css" print;', '@import url("one.css");', ' @import "one.css";']
)
def test_a_sheet_that_imports_otherwise_is_refused(line):
    texts = {"css/page.css": f"{line}\n", "css/one.css": ""}
    with pytest.raises(ValueError, match=r"css/page\.css"):
        bundles.of_sheet("css/page.css", texts.__getitem__)
