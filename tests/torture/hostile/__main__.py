"""All of it through the real door: `python -m tests.torture.hostile [FLIPS [MORE [GROUP ...]]]`.

It prints for each group how many were read, refused, broke off or ended their child, and the worst that one
of them took; it fails where a child ended, something was opened, or a whole file is not read any more.
"""

import multiprocessing
import sys
from collections import Counter
from concurrent.futures import ProcessPoolExecutor, as_completed

from tests.torture.hostile.through import ready, through

FLIPS, MORE = 500, 60
ENDS = ("read", "refused", "broke", "died")


def told(group, outcomes):
    """Return a row of the table, and a line for each that broke off or ended its child."""
    every = [one for of_file in outcomes for one in of_file]
    ends = Counter(_worst_of(of_file) for of_file in outcomes)
    slow, large = max(every, key=lambda one: one.cpu_s), max(every, key=lambda one: one.peak_mb)
    row = f"{group:22}{len(outcomes):6}" + "".join(f"{ends[end]:9}" for end in ENDS)
    row += f"{slow.cpu_s:9.1f} s{large.peak_mb:7.0f} MB   {slow.name}; {large.name}\n"
    odd = [one for one in every if one.ended in ENDS[2:]]
    return row + "".join(f"    {one.ended}: {one.name}: {one.said}\n" for one in odd)


def _worst_of(of_file):
    """How a file ended: broken off or died anywhere, else as its first step did."""
    return max((one.ended for one in of_file), key=lambda end: (ENDS.index(end) > 1, end == of_file[0].ended))


def main(flips=FLIPS, more=MORE, *only):
    from tests.torture.hostile.material import BOMBS, GROUPS

    say = sys.stdout.write
    say(f"{'':22}{'files':>6}" + "".join(f"{end:>9}" for end in ENDS) + "  worst time, memory\n")
    spawned = multiprocessing.get_context("spawn")
    failed = False
    with ProcessPoolExecutor(2, mp_context=spawned, initializer=ready) as hands:
        groups = only or (*BOMBS, *GROUPS)
        for done in as_completed([hands.submit(through, group, int(flips), int(more)) for group in groups]):
            group, outcomes, wrong = done.result()
            say(told(group, outcomes))
            wrong += [one.name for of_file in outcomes for one in of_file if one.ended == "died"]
            failed = failed or bool(wrong)
            say("".join(f"    WRONG: {one}\n" for one in wrong))
            sys.stdout.flush()
    say("NOT MET\n" if failed else "met: every file ended with a result or a sentence, no child died\n")
    return failed


if __name__ == "__main__":
    ready()
    sys.exit(main(*sys.argv[1:]))
