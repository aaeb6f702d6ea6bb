"""Random search is for people; the gate tries the same examples every time.

`OHMBOOK_SEARCH=1` before a test run lets hypothesis look elsewhere each time.
"""

from __future__ import annotations

import os

from hypothesis import settings

# Before NumPy is imported: on matrices as small as ours, threads wait for each other.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

settings.register_profile("gate", derandomize=True)
settings.register_profile("search", derandomize=False, print_blob=True)
settings.load_profile("search" if os.environ.get("OHMBOOK_SEARCH") else "gate")
