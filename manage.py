#!/usr/bin/env python
"""Django's entry: `manage.py serve` starts web and worker, `manage.py help` lists the rest."""

import gc
import os
import sys

from django.core.exceptions import ImproperlyConfigured
from django.core.management import execute_from_command_line

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
    # what is loaded stays: to look through it for garbage, again and again, took a tenth of the start
    gc.set_threshold(50_000)
    # our matrices are small: the threads of BLAS spend more on waiting for one another than the sums cost
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as problem:
        sys.exit(f"The settings do not work: {problem}")
