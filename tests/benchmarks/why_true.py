"""Claims of "why short", applied and matched again: how many are true.

Run from the top of the repository: ``.venv/bin/python -m tests.benchmarks.why_true``. Random stores
under random conditions; a claim of so many more pieces is true when the new match covers so many
more. Takes minutes.
"""

import argparse
from collections import Counter

from tests.support.claims import claims, matched, random_case


def main() -> None:
    """Print a line for each untrue claim and the sum."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--claims", type=int, default=200)
    parser.add_argument("--effort", type=float, default=2.0)
    parser.add_argument("--first", type=int, default=0, help="seed of the first store")
    chosen = parser.parse_args()
    true, tried, seed = 0, 0, chosen.first
    kinds: Counter[str] = Counter()
    while tried < chosen.claims:
        case = random_case(seed)
        before = matched(case, chosen.effort)
        for what, changed, more in claims(case, before):
            after = matched(changed, chosen.effort)
            kept = after.together.covered >= before.together.covered + more
            tried, true = tried + 1, true + kept
            kinds[what.split(" ")[-1] if ": scrap" not in what else what.split(" ")[3]] += 1
            if not kept:
                came = after.together.covered - before.together.covered
                print(f"  store {seed}: {what}: {more} more promised, {came} came", flush=True)
        seed += 1
    print(f"{true} of {tried} claims true, from stores {chosen.first} to {seed - 1}; {dict(kinds)}")


if __name__ == "__main__":
    main()
