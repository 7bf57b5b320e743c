"""What is loaded before anybody asks for it, so that the first curve comes as quickly as any.

A worker process imports and fetches compiled code for some three seconds before its first curve. The server needs as
long for its own imports: the first worker is started before them, on another core, and is warm when the server says
that it is ready. So nothing of the server is imported here.
"""

import gc

from scribeline.web.workers import Workers

WARM = (  # imported, or called, before they are needed; what a builder waits for first comes first
    "scribeline.tasks.measuring_state:warm", "scribeline.tasks.curve_warm:warm", "scribeline.tasks.plan_jobs",
    "scribeline.tasks.plan", "scribeline.tasks.trials", "scribeline.tasks.sheet_order",
    "scribeline.tasks.rubbing_review",
)  # fmt: skip


def begun_workers() -> Workers:
    """The server's workers, the first of them loading already.

    Modules are loaded with nothing thrown away meanwhile: hardly any of it is garbage, and the search for some
    takes 0.35 of 4.4 s. `settled` takes it up again.
    """
    gc.disable()
    workers = Workers(2, preload=WARM)
    workers.begin()
    return workers


def settled() -> None:
    """What is loaded by now stays: later searches for garbage need not go through it, and hold no page up."""
    gc.freeze()
    gc.enable()
