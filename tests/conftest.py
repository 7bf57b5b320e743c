"""Settings for every test.

Generated inputs have no time limit each (the first call of a compiled function takes seconds), and where CI runs they
are the same ones every time, so that a change is not refused for somebody else's bad luck.
"""

import gc
import os

from hypothesis import settings

settings.register_profile("scribeline", deadline=None, derandomize=bool(os.environ.get("CI")))
settings.load_profile("scribeline")


def pytest_collection_finish() -> None:
    """What is here by now stays to the end: every simulated page has its garbage collected twice, which would else
    look through all tests and libraries each time and take longer than the page."""
    gc.freeze()
