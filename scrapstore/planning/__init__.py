"""A project and a store brought together: what goes into a match, and the whole answer.

The pure rooms below know neither scraps with a place and a fabric nor project files. Here both
become what they match, pack and cut, and their results become one answer, with the scraps, lots and
lengths it takes. Import the file that is needed; nothing is handed on here.
"""

__all__: list[str] = []
