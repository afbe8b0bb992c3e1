"""The examples in docstrings of shapes, yardage and projects run as written."""

import doctest
import importlib
import pkgutil

import pytest

import scrapstore.projects
import scrapstore.shapes
import scrapstore.yardage

MODULES = [
    name
    for room in (scrapstore.shapes, scrapstore.yardage, scrapstore.projects)
    for name in (
        room.__name__,
        *(module.name for module in pkgutil.iter_modules(room.__path__, f"{room.__name__}.")),
    )
]  # fmt: skip


@pytest.mark.parametrize("name", MODULES)
def test_examples_in_docstrings(name: str) -> None:
    assert doctest.testmod(importlib.import_module(name)).failed == 0


def test_there_are_examples() -> None:
    found = [doctest.DocTestFinder().find(importlib.import_module(name)) for name in MODULES]
    assert sum(bool(test.examples) for tests in found for test in tests) >= 7
