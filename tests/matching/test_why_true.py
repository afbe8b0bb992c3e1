"""What "why short" says is applied and matched again: what was promised comes.

`tests.benchmarks.why_true` does the same two hundred times.
"""

import pytest

from tests.support.claims import claims, matched, random_case


@pytest.mark.parametrize(
    ("seed", "effort"),
    # In store 321 the plan must be mended after the claim, by the last of the effort.
    [(2, 0.3), (5, 0.3), (11, 0.3), (321, 2.0)],
)
def test_every_claim_holds_in_a_new_match(seed: int, effort: float) -> None:
    case = random_case(seed)
    before = matched(case, effort)
    said = list(claims(case, before))
    assert said
    for what, changed, more in said:
        after = matched(changed, effort)
        assert after.together.covered >= before.together.covered + more, what
