"""No port is given twice: eight of ten thousand drawn at random met one in four hundred times."""

import pytest

from tests.torture import ports


def test_whoever_asks_for_all_of_them_gets_each_once_and_then_none(monkeypatch):
    monkeypatch.setattr(ports, "OURS", range(29500, 29520))
    monkeypatch.setattr(ports, "_given", {29500})
    free = [ports.own_port() for _ in range(10)]  # of nineteen: the others may be somebody's
    assert sorted({*free, 29500}) == sorted([*free, 29500])
    monkeypatch.setattr(ports, "_given", set(ports.OURS))
    with pytest.raises(OSError, match="no port is free"):
        ports.own_port()
