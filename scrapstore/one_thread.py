"""Imported for its effect, where workers are forked from: linear algebra on one thread.

The workers share out the cores among themselves; were numpy's library to start a thread for every
core in each of them, they would wait for one another half of the time. The library reads these
settings when numpy is loaded, so this module comes first.
"""

import os

__all__: list[str] = []

for _setting in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[_setting] = "1"
