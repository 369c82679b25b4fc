"""From any module to the farthest that it needs: a short way, so that a change is understood by few files."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import grimp

LONGEST = 12
# stands for numpy and OpenCV themselves, which are not ours either
NOT_OURS = {"reeds.numbers.late"}
# a type alone, as in the contract about circles
NOT_FOLLOWED = {("studio.access", "studio.models")}


def imports() -> dict[str, list[str]]:
    """Every module of ours, without migrations, with those of ours that it imports."""
    graph = grimp.build_graph("studio", "reeds", "lessons")
    modules = [one for one in sorted(graph.modules) if ".migrations" not in one]
    return {
        one: [
            other
            for other in sorted(graph.find_modules_directly_imported_by(one))
            if other in modules and other not in NOT_OURS and (one, other) not in NOT_FOLLOWED
        ]
        for one in modules
    }


def longest_chain(imported: Mapping[str, Sequence[str]]) -> list[str]:
    """The longest way down, from the module that imports to the one that imports nothing of ours."""
    below: dict[str, list[str]] = {}

    def chain(module: str) -> list[str]:
        if module not in below:
            below[module] = [module, *max((chain(one) for one in imported[module]), key=len, default=[])]
        return below[module]

    return max((chain(module) for module in imported), key=len)


def test_no_chain_of_imports_is_longer_than_twelve():
    chain = longest_chain(imports())
    assert len(chain) <= LONGEST, " -> ".join(chain)


def test_that_measure_finds_the_longest_way_and_not_the_first():
    assert longest_chain({"a": ["d", "b"], "b": ["c"], "c": ["d"], "d": []}) == ["a", "b", "c", "d"]
