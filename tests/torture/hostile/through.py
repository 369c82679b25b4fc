"""One group of hostile files through the door, in a process of its own, which other modules can start."""

import logging
import os
import tempfile
from pathlib import Path


def ready():
    os.environ["DJANGO_SETTINGS_MODULE"] = "studio.settings"
    os.environ["DATA_DIR"] = tempfile.mkdtemp(prefix="hostile-")
    import django

    django.setup()
    logging.getLogger("studio.confined").propagate = False


def through(group, flips, more):
    """Send one group through the door; return how each file ended, and what is wrong after all of them."""
    from django.conf import settings

    from tests.torture.hostile import door, material

    decoys = door.Decoys(Path(settings.DATA_DIR))
    sort = group.split()[0]
    files = material.bombs(group, decoys) if group in material.BOMBS else material.broken(group, flips, more)
    with door.door() as opened:
        outcomes = opened.sent(sort, files)
        wrong = [f"the decoy's {what} was opened" for what in decoys.touched()]
        whole = opened.sent(sort, material.whole_files(sort).items())
        wrong += [f"{one[0].name} is not read afterwards" for one in whole if one[0].ended != door.READ]
    decoys.close()
    return group, outcomes, wrong
