"""Settings for every test.

Generated inputs have no time limit each (the first call of a compiled function takes seconds), and where CI runs they
are the same ones every time, so that a change is not refused for somebody else's bad luck. A shell that puts the tests
into the background has them ignore interrupts, and every program that they start; those that are interrupted to see
what they do would go on.
"""

import gc
import os
import signal

from hypothesis import settings

settings.register_profile("scribeline", deadline=None, derandomize=bool(os.environ.get("CI")))
settings.load_profile("scribeline")
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)


def pytest_collection_finish() -> None:
    """What is here by now stays to the end: every simulated page has its garbage collected twice, which would else
    look through all tests and libraries each time and take longer than the page."""
    gc.freeze()
