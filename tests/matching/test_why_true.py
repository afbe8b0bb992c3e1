"""What "why short" says is applied and matched again: what was promised comes.

`tests.benchmarks.why_true` does the same two hundred times.
"""

import pytest

from tests.support.claims import claims, matched, random_case


@pytest.mark.parametrize("seed", [2, 5, 11])
def test_every_claim_holds_in_a_new_match(seed: int) -> None:
    case = random_case(seed)
    before = matched(case, 0.3)
    said = list(claims(case, before))
    assert said
    for what, changed, more in said:
        after = matched(changed, 0.3)
        assert after.together.covered >= before.together.covered + more, what
