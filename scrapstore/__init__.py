"""A store of photographed fabric scraps that answers what a project can be cut from."""

import os

__all__ = ["__version__"]

# Where no number of threads is set, scikit-learn counts the processor's cores, and warns at length
# on a system that does not say. Here, so that it is set however the package is used.
os.environ.setdefault("OMP_NUM_THREADS", str(os.cpu_count() or 1))

__version__: str


def __getattr__(name: str) -> str:
    """Look the version up when it is asked for: that takes as long as the rest of a quick start."""
    if name != "__version__":
        msg = f"module {__name__!r} has no attribute {name!r}"
        raise AttributeError(msg)
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("scrapstore")
    except PackageNotFoundError:  # read straight from a source folder, never installed
        return "0+unknown"
