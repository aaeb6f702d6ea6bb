"""Random search is for people; the gate tries the same examples every time.

`OHMBOOK_SEARCH=1` before a test run lets hypothesis look elsewhere each time.
"""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("gate", derandomize=True)
settings.register_profile("search", derandomize=False, print_blob=True)
settings.load_profile("search" if os.environ.get("OHMBOOK_SEARCH") else "gate")
