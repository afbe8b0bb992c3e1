"""The program as a person calls it, in this process."""

import json
import sys
from dataclasses import dataclass
from typing import Any

import pytest

from scrapstore.cli import main

__all__ = ["Program", "Said"]


@dataclass(frozen=True)
class Said:
    """What one call answered."""

    status: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """The one document on standard output."""
        return json.loads(self.out)


class Program:
    """Calls the program; a call that should be done and is not fails the test."""

    def __init__(self, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
        self._capsys = capsys
        self._monkeypatch = monkeypatch

    def __call__(self, *arguments: str, status: int = 0) -> Said:
        """Run ``scrapstore ARGUMENTS`` and return what it said; it must end with `status`."""
        self._monkeypatch.setattr(sys, "argv", ["scrapstore", *arguments])
        self._capsys.readouterr()
        with pytest.raises(SystemExit) as ended:
            main()
        out, err = self._capsys.readouterr()
        code = ended.value.code or 0
        said = Said(status=code if isinstance(code, int) else 1, out=out, err=err)
        assert said.status == status, f"{arguments}: {said}"
        return said
