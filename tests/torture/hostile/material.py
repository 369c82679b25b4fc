"""All hostile files in groups: what is broken of each kind, and the bombs; made when asked for."""

from tests.torture.hostile import bombs_of_pictures, bombs_of_sound
from tests.torture.hostile.damage import damaged
from tests.torture.hostile.whole import PICTURES, RECORDINGS

SECONDS = 0.5
GROUPS = [f"take {kind}" for kind in RECORDINGS] + [f"photo {kind}" for kind in PICTURES]
BOMBS = ["take bombs", "photo bombs"]


def whole_files(sort):
    """Return a whole file of each kind of takes or photos."""
    if sort == "take":
        return {kind: made(seconds=SECONDS) for kind, made in RECORDINGS.items()}
    return {kind: made() for kind, made in PICTURES.items()}


def broken(group, flips, more):
    """Yield names and bytes of one group: so many with bytes flipped, so many each cut and spliced."""
    sort, _space, kind = group.partition(" ")
    whole = whole_files(sort)
    yield from damaged(kind, whole[kind], list(whole.values()), flips, more)


def wrong_door(sort):
    """Yield what goes to the other door: every photo as a take, every take as a photo."""
    other = {"take": "photo", "photo": "take"}[sort]
    for kind, data in whole_files(other).items():
        yield f"a whole {kind}", data


def bombs(group, decoys, size=bombs_of_pictures.LARGEST):
    """Yield names and bytes of the bombs, which name the decoys where they name anything.

    `size` in px is that of the largest pictures; where it is small, the long takes are left out too.
    """
    sort = group.split()[0]
    named = (str(decoys.path), decoys.port, decoys.udp)
    made = bombs_of_pictures.bombs(size) if sort == "photo" else bombs_of_sound.bombs(*named)
    for name, make in made.items():
        if size != bombs_of_pictures.LARGEST and "3 minutes" in name:
            continue
        yield name, make()
    yield from wrong_door(sort)
