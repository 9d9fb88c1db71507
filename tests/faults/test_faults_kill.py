"""kill -9 at random moments of a walk, and of the walks that go on with its record."""

import pytest
from fault_kill import kills

pytestmark = pytest.mark.slow


def test_a_killed_walk_loses_nothing_that_was_told(tmp_path):
    told, found = zip(*kills(tmp_path, 30, seed=1), strict=True)
    assert [one for one in found if one] == []
    assert min(told) < max(told)  # they were killed at different moments
