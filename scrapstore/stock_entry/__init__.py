"""What is typed, noted or measured of stock, read and checked before it is stored.

The fields and words that people type, sizes, the list beside the photos, and scraps measured from a
photo become the working forms that `scrapstore.store` keeps. Import the file that is needed:
nothing is handed on here, and `fields` imports nothing heavy.
"""

__all__: list[str] = []
