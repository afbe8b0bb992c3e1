"""Settings of the whole suite."""

from hypothesis import HealthCheck, settings

# The suite runs on shared machines, and the first example may compile: how long one takes, or is
# drawn, says nothing about the code.
# Printing the blob lets a failure from CI be replayed anywhere.
settings.register_profile(
    "scrapstore",
    deadline=None,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("scrapstore")
