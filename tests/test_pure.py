"""The pure modules import no web framework, not even through another module."""

import importlib.util
import pkgutil
import subprocess
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).parent.parent
CONTRACT = "Computation knows no web framework"


def _named():
    """The modules that the import contract calls pure, as far as they are written."""
    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["importlinter"]["contracts"]
    names = next(one["source_modules"] for one in contracts if one["name"] == CONTRACT)
    return [name for name in names if importlib.util.find_spec(name)]


def _with_children(name):
    path = importlib.util.find_spec(name).submodule_search_locations
    return [name, *(f"{name}.{child.name}" for child in pkgutil.iter_modules(path or []))]


PURE = [name for top in _named() for name in _with_children(top)]

# Each module as if it were the first: what a guilty one has loaded is forgotten before the next, all that is
# ours too, so that one which imports Django only through another is guilty as well.
IMPORT_ONE_AFTER_ANOTHER = """
import importlib, sys

def loaded(*tops):
    return [name for name in sys.modules if name.split(".")[0] in tops]

for module in sys.argv[2:]:
    importlib.import_module(module)
    if loaded("django"):
        print(module)
        for name in loaded("django", *sys.argv[1].split(",")):
            del sys.modules[name]
"""


def importing_django(modules, folder=ROOT):
    """Return those of the modules after whose import in a fresh interpreter Django is there."""
    tops = ",".join({name.split(".")[0] for name in modules} | {"studio"})
    command = [sys.executable, "-c", IMPORT_ONE_AFTER_ANOTHER, tops, *modules]
    ran = subprocess.run(command, capture_output=True, text=True, check=True, cwd=folder)  # noqa: S603
    return ran.stdout.split()


def test_a_pure_module_imports_no_django_in_a_fresh_interpreter():
    assert importing_django(PURE) == []


def test_the_test_itself_would_see_django_even_through_another_module(tmp_path):
    package = tmp_path / "package"
    package.mkdir()
    files = {
        "__init__": "",
        "innocent": "import json",
        "guilty": "import django",
        "through": "from package import innocent, guilty",
        "late": "from package import innocent",
    }
    for name, text in files.items():
        (package / f"{name}.py").write_text(text)
    names = [f"package.{name}" for name in files if name != "__init__"]
    assert importing_django(names, tmp_path) == ["package.guilty", "package.through"]


def test_the_contract_names_the_checks_and_the_registry():
    assert {"reeds.numbers.registry", "reeds.checks.limits", "reeds.sheet.starters"} <= set(PURE)
