"""Designs judged in processes of their own, as many at a time as there are cores to use.

Looking at limits and building engines is plain Python, of which one process does one thing at a time. So each worker
process looks at limits, builds and simulates its own designs, and who called only asks the algorithm, hands out designs
one by one to whoever has room, and takes in what they tell.

Processes are started anew by Python's own `subprocess` and know nothing of the caller's main module: a script needs no
guard, and a process that may have no children by `multiprocessing` may have these. They end when their pipe closes,
however the caller comes to its end. Where one dies, by kill or for want of memory, another gets its designs; where none
is left, or none could be started, the caller judges them itself.
"""

import pickle
import subprocess
import sys
import threading
from collections import deque
from collections.abc import Iterator, Sequence
from contextlib import suppress
from itertools import count
from queue import Empty, Queue
from typing import Any

from scribeline.plan.search import Design, Verdict
from scribeline.plan.search_judging import PlanSearch
from scribeline.plan.search_worker_process import ALLOWED, ROOM

LOOK_S = 0.5  # not every system ends a wait when it is interrupted, so none is longer
_GONE = "gone"
_BEGIN = (
    "import signal, sys; signal.signal(signal.SIGINT, signal.SIG_IGN); sys.path[:] = {path!r}; "
    "from scribeline.plan.search_worker_process import work; work()"
)


class Workers:
    """A few processes that judge the designs of one search.

        with Workers(2) as workers:
            workers.begin(one)  # once today's engine is simulated
            found = search(variables, workers.judge, ...)

    They start when the block is entered, a second or two each, while the caller does something else.
    """

    def __init__(self, processes: int) -> None:
        self._count = processes
        self._one: PlanSearch | None = None
        self._workers: list[_Worker] = []
        self._with_room: deque[_Worker] = deque()
        self._heard: Queue[tuple[_Worker, Any]] = Queue()
        self._numbers = count()

    def __enter__(self) -> "Workers":
        with suppress(OSError):  # the computer starts no further process
            for _ in range(self._count):
                self._workers.append(_Worker(self._heard))
        return self

    def __exit__(self, *_: object) -> None:
        for worker in self._workers:
            worker.process.kill()
        for worker in self._workers:
            worker.end()

    @property
    def process_ids(self) -> list[int]:
        """Process numbers of the workers that are left."""
        return [worker.process.pid for worker in self._workers]

    def begin(self, one: PlanSearch) -> None:
        """Give every worker the search."""
        self._one = one
        payload = pickle.dumps(one, pickle.HIGHEST_PROTOCOL)
        for worker in self._workers:
            worker.begin(payload)

    def judge(self, designs: Sequence[Design], most: int) -> Iterator[tuple[int, Verdict]]:
        """Judge designs, see `search.Judge`; after `begin`."""
        assert self._one is not None
        left, out = deque(range(len(designs))), dict[int, tuple[int, _Worker]]()
        unsure, allowed = set[int](), set[int]()  # of those that may be simulated: still looked at, simulated
        while self._workers and (left or out):
            # one more may be simulated only if it may whatever comes of those that are looked at
            while left and self._with_room and not (unsure and len(unsure) + len(allowed) >= most):
                number, place, worker = next(self._numbers), left.popleft(), self._with_room.popleft()
                may = len(unsure) + len(allowed) < most
                out[number] = place, worker
                unsure |= {place} if may else set()
                worker.send((number, designs[place], may))
            worker, message = self._hear()
            if message == ROOM:
                self._with_room.append(worker)
            elif message == _GONE:
                self._let_go(worker)
                back = {number: place for number, (place, whose) in out.items() if whose is worker}
                left.extendleft(sorted(back.values(), reverse=True))
                unsure.difference_update(back.values())
                allowed.difference_update(back.values())
                out = {number: whose for number, whose in out.items() if number not in back}
            elif message[0] in out:  # what is told of a search that was stopped is let go
                number, told = message
                place, _ = out[number]
                unsure.discard(place)
                if told == ALLOWED:
                    allowed.add(place)
                    continue
                del out[number]
                if told is not None:
                    yield place, told
        places = list(left)
        for number, verdict in self._one.judge([designs[place] for place in places], most - len(allowed)):
            yield places[number], verdict

    def _hear(self) -> "tuple[_Worker, Any]":
        while True:
            with suppress(Empty):
                return self._heard.get(timeout=LOOK_S)

    def _let_go(self, worker: "_Worker") -> None:
        self._workers.remove(worker)
        self._with_room = deque(one for one in self._with_room if one is not worker)
        worker.end()


class _Worker:
    """A process, and the thread that listens to it."""

    def __init__(self, heard: "Queue[tuple[_Worker, Any]]") -> None:
        self.heard = heard
        self.process = subprocess.Popen(
            [sys.executable, "-c", _BEGIN.format(path=sys.path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL, creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )  # fmt: skip
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        self.to, self.source = self.process.stdin, self.process.stdout
        self.thread: threading.Thread | None = None

    def begin(self, payload: bytes) -> None:
        """Send the search, which it may still be too busy starting to take in, and listen from then on."""
        self.thread = threading.Thread(target=self._listen, args=(payload,), name="search worker", daemon=True)
        self.thread.start()

    def _listen(self, payload: bytes) -> None:
        try:
            self.to.write(payload)
            self.to.flush()
            while True:
                self.heard.put((self, pickle.load(self.source)))
        except Exception:  # the pipe has closed, or a message was cut off: whatever it is, nothing more will come
            self.heard.put((self, _GONE))

    def send(self, message: object) -> None:
        """Send a message; that nobody is there to get it is heard elsewhere."""
        with suppress(OSError):
            pickle.dump(message, self.to, pickle.HIGHEST_PROTOCOL)
            self.to.flush()

    def end(self) -> None:
        """Make sure that process and thread have ended."""
        self.process.kill()
        self.process.wait()
        if self.thread is not None:
            self.thread.join()
        for pipe in (self.to, self.source):
            with suppress(OSError):
                pipe.close()
