"""A small campaign of benches, clips and windings that are not as the budgets assume."""

import pytest
import stressed


@pytest.mark.slow
def test_nine_of_ten_truths_lie_inside_on_benches_that_the_budgets_do_not_know() -> None:
    lines = stressed.campaign(73, 12)
    assert len(lines) > 100
    assert sum(line.inside for line in lines) > 0.9 * len(lines)
