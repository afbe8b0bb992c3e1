"""Where the files that travel with the program are looked for."""

from pathlib import Path

import pytest

from scrapstore import resources
from scrapstore.errors import StoreError


def test_an_installed_copy_takes_no_foreign_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Beside it lies whatever else is installed; a package may well be called migrations."""
    package = tmp_path / "scrapstore"
    package.mkdir()
    (tmp_path / "migrations").mkdir()
    monkeypatch.setattr(resources, "_PACKAGE", package)
    with pytest.raises(StoreError, match="install scrapstore again"):
        resources.resource_folder("migrations")
    (tmp_path / "pyproject.toml").write_text('[project]\nname = "another"\n')
    with pytest.raises(StoreError, match="install scrapstore again"):
        resources.resource_folder("migrations")
    (tmp_path / "pyproject.toml").write_text('[project]\nname = "scrapstore"\nversion = "1"\n')
    assert resources.resource_folder("migrations") == tmp_path / "migrations"
    shipped = package / "_shipped" / "migrations"
    shipped.mkdir(parents=True)
    assert resources.resource_folder("migrations") == shipped
