"""The rooms of photo: each public name is there, and light names load no heavy library."""

import subprocess
import sys

import pytest

from scrapstore import photo

HEAVY = ("cv2", "scipy", "shapely", "sklearn")


def loaded_by(code: str) -> set[str]:
    """The heavy libraries that are loaded after running `code` in a fresh process."""
    ask = f"{code}; import sys; print(*(m for m in {HEAVY!r} if m in sys.modules))"
    done = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True)
    return set(done.stdout.split())


@pytest.mark.parametrize("name", [
    "OUR_PRINT", "CutOutPicture", "LensProfile", "Refusal", "SquareSet", "open_photo",
    "stored_copy",
])  # fmt: skip
def test_what_only_opens_copies_or_names_things_loads_no_heavy_library(name: str) -> None:
    assert loaded_by(f"from scrapstore.photo import {name}") == set()


def test_settings_load_no_heavy_library() -> None:
    """They check how the scale's squares are typed."""
    assert loaded_by("import scrapstore.settings") == set()


def test_measuring_loads_opencv() -> None:
    """So the question above is one that can be answered with yes."""
    assert "cv2" in loaded_by("from scrapstore.photo import measure")


def test_every_public_name_is_what_it_is_called() -> None:
    for name in photo.__all__:
        one = getattr(photo, name)
        assert name.isupper() or one.__name__ == name
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        photo.nothing  # type: ignore[attr-defined]  # noqa: B018
