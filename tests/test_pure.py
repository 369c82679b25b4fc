"""The pure modules import no web framework, not even through another module."""

import subprocess
import sys

import pytest

PURE = [
    "reeds.measured",
    "reeds.words",
    "reeds.vocabulary",
    "reeds.entry",
    "reeds.quantities",
    "reeds.checks",
    "reeds.starters",
    "reeds.photos",
    "reeds.sound",
    "lessons.lookback",
]


@pytest.mark.parametrize("module", PURE)
def test_a_pure_module_imports_no_django_in_a_fresh_interpreter(module):
    asked = f"import sys, {module}; print(sorted(n for n in sys.modules if n.split('.')[0] == 'django'))"
    ran = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)  # noqa: S603
    assert ran.stdout.strip() == "[]"
