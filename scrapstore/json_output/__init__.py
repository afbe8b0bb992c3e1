"""The JSON that commands print with ``--json``: its schema, and how results become it.

One file for each subject. Lengths are in inches, areas in square inches, angles in degrees.
Import the file that is needed, as in `scrapstore.actions`: nothing is handed on here.
"""

__all__: list[str] = []
