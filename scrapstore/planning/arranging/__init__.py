"""What the store supplies for an arrangement, and the pieces of one.

Import the file that is needed; nothing is handed on here.
"""

__all__: list[str] = []
