"""Settings for every test.

Generated inputs have no time limit each (the first call of a compiled function takes seconds), and where CI runs they
are the same ones every time, so that a change is not refused for somebody else's bad luck.
"""

import os

from hypothesis import settings

settings.register_profile("scribeline", deadline=None, derandomize=bool(os.environ.get("CI")))
settings.load_profile("scribeline")
