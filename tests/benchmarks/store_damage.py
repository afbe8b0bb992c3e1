"""Random damage to stores: what a check finds of it, and what a mend puts right.

``python -m tests.benchmarks.store_damage 200`` harms as many stores, a third of them in two or
three places, and prints how many damages were found and how many harmless, how many stores were
whole after a mend, and what of the sound rows it did not leave as it was (nothing should be).
"""

import random
import shutil
import sys
import tempfile
from collections import Counter
from pathlib import Path

from scrapstore.store import StockFilter, open_store, plans
from tests.support.random_stores import random_store
from tests.support.store_damage import Rows, all_rows, damage


def main(count: int, seed: int = 0) -> int:
    """Harm and mend `count` stores; return how many were not as they should be after it."""
    draw = random.Random(seed)
    told: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as place:
        sound = [random_store(Path(place) / f"sound {n}", n) for n in range(4)]
        for number in range(count):
            folder = Path(place) / f"harmed {number}"
            whole = draw.choice(sound)
            shutil.copytree(whole, folder)
            done = damage(folder, draw, draw.choice((1, 1, 2, 3)))
            said = _one(whole, folder)
            told.update({said.partition(":")[0]: 1})
            if said.startswith("WRONG"):
                print(number, done, said)
            shutil.rmtree(folder)
    for what, many in sorted(told.items()):
        print(f"{many:5}  {what}")
    return sum(many for what, many in told.items() if what.startswith("WRONG"))


def _one(whole: Path, folder: Path) -> str:
    before, harmed = all_rows(whole / "store.db"), all_rows(folder / "store.db")
    with open_store(folder) as store:
        found = store.check()
        if not found.faults:
            with store.read() as reader:
                reader.scraps(StockFilter(statuses=()))
                reader.history()
                plans(reader)
            return "harmless, all can be read" if before != harmed else "nothing was harmed"
        silent = [f for f in found.faults if not (f.lost and f.remedy)]
        if silent:
            return f"WRONG, says too little: {silent}"
        store.mend([whole])
        left = store.check().faults
    after = all_rows(folder / "store.db")
    lost = _lost(before, harmed, after)
    if left:
        return f"WRONG, not whole after a mend: {[str(fault) for fault in left]}"
    return f"WRONG, sound rows lost: {lost}" if lost else "found, and whole after a mend"


def _lost(before: Rows, harmed: Rows, after: Rows) -> list[str]:
    """Sound rows that a mend did not leave; a row that was harmed may be as before or as now."""
    return [
        f"{table} {number}"
        for (table, number), row in before.items()
        if harmed.get((table, number)) == row
        and after.get((table, number)) != row
        and table not in ("plan_stock", "plan_pieces", "history")
    ]


if __name__ == "__main__":
    sys.exit(bool(main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)))
