"""What a quilter does with the store, one file for each thing.

An action takes an open store and plain arguments and returns a result; it neither prints nor asks.
Import the file that is needed: some bring heavy libraries with them, and a command pays for its own
only. So nothing is handed on here.
"""

__all__: list[str] = []
