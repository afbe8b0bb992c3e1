"""Settings of the whole suite."""

from hypothesis import settings

# The suite runs on shared machines: how long one example takes says nothing about the code.
# Printing the blob lets a failure from CI be replayed anywhere.
settings.register_profile("scrapstore", deadline=None, print_blob=True)
settings.load_profile("scrapstore")
