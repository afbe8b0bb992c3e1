"""Pictures, sheets and sentences made from the results of the other rooms.

Import the file that is needed: a sentence needs no drawing, and nothing is handed on here.
"""

__all__: list[str] = []
