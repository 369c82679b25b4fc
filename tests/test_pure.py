"""The pure modules import no web framework, not even through another module."""

import importlib.util
import pkgutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

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


def _django_after(statement):
    asked = f"import sys; {statement}; print(any(n.split('.')[0] == 'django' for n in sys.modules))"
    ran = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True, cwd=ROOT)  # noqa: S603
    return ran.stdout.strip()


@pytest.mark.parametrize("module", PURE)
def test_a_pure_module_imports_no_django_in_a_fresh_interpreter(module):
    assert _django_after(f"import {module}") == "False"


def test_the_test_itself_would_see_django():
    assert _django_after("import django") == "True"


def test_the_contract_names_the_checks_and_the_registry():
    assert {"reeds.numbers.registry", "reeds.checks.limits", "reeds.sheet.starters"} <= set(PURE)
