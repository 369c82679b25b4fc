"""A minute of the kill run; `make torture` has ten."""

import pytest

from tests.studio.serving import put_empty_database
from tests.torture.faults import KINDS
from tests.torture.run import Run

SECONDS, KILLS = 60, 8


@pytest.mark.django_db  # without it there might be no migrated database to copy
def test_whatever_dies_for_a_minute_nothing_acknowledged_is_lost_doubled_or_stuck(tmp_path):
    run = Run(tmp_path, SECONDS, KILLS)
    report = run.whole(put_empty_database)
    said = f"{report.text}\nthe studio said:\n{run.site.said.read_text()[-6000:]}"
    assert report.wrong == [], said
    assert set(report.killed) == set(KINDS), said
    assert len(report.began) == 6, said
