"""How property tests look for examples: anew at a desk, always the same ones where a run decides."""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("ci", derandomize=True, deadline=None, print_blob=True)
settings.register_profile("desk", deadline=None)
settings.load_profile("ci" if os.environ.get("CI") == "true" else "desk")
