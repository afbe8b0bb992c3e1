"""A store of photographed fabric scraps that answers what a project can be cut from."""

from importlib.metadata import PackageNotFoundError, version

__all__ = ["__version__"]

try:
    __version__ = version("scrapstore")
except PackageNotFoundError:  # read straight from a source folder, never installed
    __version__ = "0+unknown"
