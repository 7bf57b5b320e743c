"""What runs in a worker process of a search: judges designs until the one that started it is gone.

Messages are pickled, one after the other. To the worker, by its standard input: the PlanSearch, then designs as
(number, design, whether it may be simulated). From it: ROOM, once for each design that it wants; (number, ALLOWED) as
soon as limits were looked at, then (number, verdict), which is None for one that is allowed and may not be simulated.

One thread does everything but listen, so nothing here waits for the interpreter: with its eight lanes full a worker
simulates, with room in them it asks for the next design, looks at its limits and lays it out.
"""

import os
import pickle
import sys
import threading
from collections.abc import Callable, Iterator
from queue import Empty, Queue
from typing import Any, BinaryIO

from scribeline.cycle.batches import at_once
from scribeline.cycle.lanes import Job, Jobs, work_off
from scribeline.geometry.work_out import WorkedOut
from scribeline.plan.merits import SEARCH, Simulated
from scribeline.plan.search import Design, Refused
from scribeline.plan.search_judging import PlanSearch

ROOM, ALLOWED = "room", "allowed"
PATIENCE_S = 0.002  # judgement: an answer takes a tenth of it; without one the lanes that are full go on


def work() -> None:
    """Take designs from standard input until it closes."""
    told = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever prints must not come between the messages
    came: Queue[Any] = Queue()  # and no SimpleQueue, see `lanes.Jobs`
    threading.Thread(target=_listen, args=(sys.stdin.buffer, came), daemon=True).start()

    def tell(message: object) -> None:
        pickle.dump(message, told, pickle.HIGHEST_PROTOCOL)
        told.flush()

    try:
        given = Given(came.get(), came, tell)
        for _ in work_off(given):
            given.tell_done()
    except OSError:  # nobody is there to be told
        return


def _listen(source: BinaryIO, came: "Queue[Any]") -> None:
    """Pass on what is sent. When the sender is gone, so is this process, whatever it was doing."""
    try:
        while True:
            came.put(pickle.load(source))
    finally:
        os._exit(0)


class Given(Jobs):
    """Designs that are handed out one by one, as tasks; those that limits refuse are told and left."""

    def __init__(self, one: PlanSearch, came: "Queue[Any]", tell: Callable[[object], None]) -> None:
        super().__init__()
        self.one, self.came, self.tell = one, came, tell
        self.asked = False
        self.patience_s = 0.0
        self.open: list[tuple[int, Design, WorkedOut, Simulated, Job]] = []

    def take(self, wait_s: float) -> Job | None:
        """The next design that is to be simulated; None where none came."""
        for number, design, may in self._handed_out(wait_s):
            out = self.one.looked_at(design)
            if isinstance(out, Refused) or not may:
                self.tell((number, out if isinstance(out, Refused) else None))
                continue
            self.tell((number, ALLOWED))
            engine = Simulated(out)
            job = Job(at_once(engine.at, self.one.speeds.points, SEARCH, self.one.begun))
            self.open.append((number, design, out, engine, job))
            return job
        return None

    def _handed_out(self, wait_s: float) -> Iterator[tuple[int, Design, bool]]:
        while True:
            if not self.asked:
                self.asked, self.patience_s = True, PATIENCE_S
                self.tell(ROOM)
            wait = max(wait_s, self.patience_s)
            try:
                design = self.came.get(timeout=wait) if wait else self.came.get_nowait()
            except Empty:
                self.patience_s = 0.0
                return
            self.asked = False
            yield design

    def tell_done(self) -> None:
        """Tell what has come to its end."""
        for here in [one for one in self.open if one[-1].future.done()]:
            number, design, out, engine, job = here
            self.open.remove(here)
            curve = engine.swept(self.one.speeds.points, job.future.result())
            self.tell((number, self.one.judged(design, out.record, curve)))
