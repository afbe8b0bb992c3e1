"""Random stores through an archive and back, and archives made to do harm.

``python -m tests.benchmarks.store_archive 100 300`` exports and imports as many random stores, and
compares every row and every photo; then imports as many hostile archives, those of
`tests.support.hostile_archives` by turns with ones spoilt at random, and prints how many were
refused, and whether anything was written beside the store or a store was changed.
"""

import random
import shutil
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from scrapstore.errors import ScrapstoreError
from scrapstore.store import import_archive, open_store
from tests.support.hostile_archives import HOSTILE, contents_of, spoilt_at_random
from tests.support.random_stores import random_store
from tests.support.store_damage import all_rows


def round_trips(count: int, place: Path) -> int:
    """Export and import `count` stores; return how many came back other than they were."""
    other = rows = photos = 0
    for seed in range(count):
        folder, new, file = place / "store", place / "new", place / "store.zip"
        random_store(folder, seed)
        with open_store(folder) as store:
            store.export(file)
            with store.read() as reader:
                names = reader.photo_files(past=True)
        import_archive(new, file, lambda _said: None)
        before, after = all_rows(folder / "store.db"), all_rows(new / "store.db")
        same = {name: (folder / "photos" / name).read_bytes() for name in names} == {
            path.name: path.read_bytes() for path in (new / "photos").iterdir()
        }
        other += not (same and before == after)
        rows += len(before)
        photos += len(names)
        for path in (folder, new):
            shutil.rmtree(path)
        file.unlink()
    print(f"{count} stores, {rows} rows, {photos} photos: {other} came back other than they were")
    return other


def hostile(count: int, place: Path) -> int:
    """Import `count` hostile archives; return how many did harm."""
    draw = random.Random(0)
    random_store(place / "good", 1)
    with open_store(place / "good") as store:
        store.export(place / "good.zip")
    files = contents_of(place / "good.zip")
    with open_store(place / "there"):
        pass
    names = list(HOSTILE)
    told: Counter[str] = Counter()
    for number in range(count):
        file = place / "hostile.zip"
        by_name = number % 3 == 0
        name = names[number // 3 % len(names)]
        how = name if by_name else spoilt_at_random(files, file, draw)
        if by_name:
            HOSTILE[name](files, file)
        outside = _seen(place)
        try:
            import_archive(place / "there", file, lambda _said: None)
        except ScrapstoreError:
            harmed = _seen(place) != outside
            told["HARM: refused, but something was written" if harmed else "refused"] += 1
        except Exception as error:  # noqa: BLE001 - what is counted here
            told["HARM: crashed"] += 1
            print(number, how, repr(error)[:200])
        else:
            whole = all_rows(place / "there" / "store.db") == all_rows(place / "good" / "store.db")
            told["taken: nothing that counts was changed" if whole else "taken, a whole store"] += 1
            shutil.rmtree(place / "there")
            with open_store(place / "there"):
                pass
    for what, many in sorted(told.items()):
        print(f"{many:5}  {what}")
    return sum(many for what, many in told.items() if what.startswith("HARM"))


def _seen(place: Path) -> dict[str, tuple[int, bytes]]:
    return {
        path.relative_to(place).as_posix(): (path.stat().st_size, path.read_bytes())
        for path in place.rglob("*")
        if path.is_file() and path.suffix not in (".db-shm", ".db-wal")
    }


if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:3]]
    stores, archives = [*given, *(100, 300)[len(given) :]]
    begun = time.monotonic()
    with tempfile.TemporaryDirectory() as made:
        wrong = round_trips(stores, Path(made))
    with tempfile.TemporaryDirectory() as made:
        wrong += hostile(archives, Path(made))
    print(f"{time.monotonic() - begun:.0f} s")
    sys.exit(bool(wrong))
