"""Engines turned side by side: LANES of them in one time loop, and whoever waits for a lane.

Engines share a loop if their tables have the same shape and the same gas: variants of one engine do, whatever their
ports, pipes and speeds. An engine takes a lane for one revolution after the other, and gives it up when it has settled.
"""

import time
from collections import deque
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from functools import partial
from queue import Empty, Queue
from typing import Any

import numpy as np

from scribeline.cycle import turning as tn
from scribeline.cycle import turning_abreast as abreast
from scribeline.cycle.layout import aligned
from scribeline.cycle.simulate import Running
from scribeline.errors import ScribelineError
from scribeline.kernels.abreast import NEAR
from scribeline.kernels.ends import LANES, room_for
from scribeline.kernels.gas import FloatArray, law_of
from scribeline.kernels.network import FACE, FINE, UNPHYSICAL

Task = Generator["Running | Task", None, Any]
"""Yields an engine to be turned once, or a further task that may go on beside it."""


WAIT_S = 0.02
ENOUGH = 4  # engines a time loop for eight is worth; three by themselves take as long
AIR = np.array([101325.0, 300.0, 0.0, 1.4, 287.0, 3e5])  # a state of a volume


class Lanes:
    """The tables of LANES engines that share a time loop, see `turning_abreast.turn`, and their tasks.

    An engine that goes on finds its lane as it left it, so nobody may change its tables meanwhile.
    """

    def __init__(self, like: Running) -> None:
        n = like.tables.network
        self.cells, self.volumes = _even(_cells(like)), n.sizes.size
        self.gas = aligned(1, n.gas.size, single=True)[0]
        self.gas[:] = n.gas
        tables = (aligned(rows, self.cells * LANES, single=True) for rows in (4, 8, 7, 13))
        self.q, self.w, self.geo, self.of_cells = tables
        self.of_cells[4:8] = 1.0
        ends, steps = len(n.ends), len(n.steps)
        self.of_ends, self.flows = np.ones((4, ends * LANES)), np.zeros((3, ends * LANES))
        self.steps, self.ratios = np.zeros((steps, LANES), np.int64), np.zeros((2, steps * LANES))
        self.numbers = aligned(1, tn.NUMBERS * LANES)[0]
        self.states = self.numbers[tn.STATES * LANES : tn.INFLOW * LANES].reshape(6, -1)
        self.inflow = self.numbers[tn.INFLOW * LANES : tn.SIZES * LANES].reshape(3, -1)
        self.each = tuple(np.zeros((LANES, *one.shape), one.dtype) for one in _each(like))
        self.room, self.unsolved = aligned(1, room_for(ends * LANES))[0], np.zeros(LANES, np.int64)
        self.near = aligned(1, ends * NEAR, single=True)[0]
        self.doing = np.full(LANES, abreast.EMPTY, np.int64)
        self.most_steps = like.settings.most_steps
        self.at: list[tuple[Task, Running] | None] = [None] * LANES
        self.held: list[Running | None] = [None] * LANES  # whose state a lane still holds
        self.waiting: deque[tuple[Task, Running]] = deque()
        # what an empty lane holds: gas that stands still, and the engine just begun
        self.still = n.q[:, -1:].copy(), n.w[:, -1:].copy(), n.geo[:, -1:].copy()
        numbers, flows = like.tables.numbers.copy(), np.zeros_like(like.flows)
        tn.begin(law_of(n.gas), numbers, flows, 1, 0)
        for v in range(self.volumes):
            numbers[tn.STATES + v : tn.INFLOW : tn.MOST_VOLUMES] = AIR
        self.numbers_at_rest = numbers
        for b in range(LANES):
            self._put(b, like)
            self.numbers[b::LANES] = numbers

    @property
    def engines(self) -> int:
        """How many are in lanes or wait for one."""
        return len(self.waiting) + LANES - self.at.count(None)

    def turn(self) -> list[tuple[Task, Running, int]]:
        """Turn until somebody is through a revolution: their tasks, with FINE, OUT_OF_STEPS or UNPHYSICAL."""
        self._fill()
        ends, port_of_end, ways, end_data, ports, trace, pipe = self.each
        abreast.turn(
            self.q, self.w, self.geo, self.gas, ends, self.steps, self.ratios, port_of_end, ways, end_data, ports,
            self.numbers, self.states, self.inflow, self.flows, trace, pipe, self.of_cells, self.of_ends, self.room,
            self.near, self.unsolved, self.doing, self.volumes, self.most_steps,
        )  # fmt: skip
        through = []
        for b in np.flatnonzero(self.doing >= FINE).tolist():
            whose = self.at[b]
            if whose is None:
                continue
            task, running = whose
            through.append((task, running, int(self.doing[b])))
            self.at[b] = None
            self._take(b, running)  # of one that is unphysical, for what its error says
            self.held[b] = running
            if self.doing[b] == UNPHYSICAL:
                self._clear(b)
                self.held[b] = None
            self.doing[b] = abreast.EMPTY
        return through

    def _fill(self) -> None:
        """Give free lanes to those that wait: first of all to whoever was in one and goes on."""
        before = {id(running): b for b, running in enumerate(self.held) if running is not None}
        others: deque[tuple[Task, Running]] = deque()
        for here in self.waiting:
            b = before.get(id(here[1]))
            if b is None:
                others.append(here)
            else:
                self.at[b] = here
                self.doing[b] = abreast.BEGINNING
        for b in range(LANES):
            if self.at[b] is None and others:
                self.at[b] = here = others.popleft()
                self.held[b] = None
                self._put(b, here[1])
                self.doing[b] = abreast.BEGINNING
        self.waiting = others

    def _put(self, b: int, running: Running) -> None:
        n, cells = running.tables.network, _cells(running)
        if cells > self.cells:
            self._widen(_even(cells))
        for mine, theirs in ((self.q, n.q), (self.w, n.w), (self.geo, n.geo)):
            mine[:, b : cells * LANES : LANES] = theirs[:, :cells]
            mine[:, cells * LANES + b :: LANES] = theirs[:, -1:]  # idle, as the last one of every engine is
        self.steps[:, b], self.ratios[:, b::LANES] = n.steps[:, 0], n.ratios
        self.of_ends[:, b::LANES], self.numbers[b::LANES] = running.room[1], running.tables.numbers
        for one, other in zip(self.each, _each(running), strict=True):
            one[b] = other

    def _take(self, b: int, running: Running) -> None:
        n, cells = running.tables.network, _cells(running)
        n.q[:, :cells], n.w[:, :cells] = self.q[:, b : cells * LANES : LANES], self.w[:, b : cells * LANES : LANES]
        running.room[1][:], running.flows[:] = self.of_ends[:, b::LANES], self.flows[:, b::LANES]
        running.tables.numbers[:] = self.numbers[b::LANES]
        n.ends[:], running.trace[:] = self.each[0][b], self.each[5][b]

    def _clear(self, b: int) -> None:
        """Take gas out of a lane that is not physical: beside it, others go on."""
        for mine, still in zip((self.q, self.w, self.geo), self.still, strict=True):
            mine[:, b::LANES] = still
        self.of_ends[:, b::LANES], self.numbers[b::LANES] = 1.0, self.numbers_at_rest

    def _widen(self, cells: int) -> None:
        """Make room for an engine with more cells; all others get further idle ones."""

        def wider(table: FloatArray) -> FloatArray:
            new = aligned(table.shape[0], cells * LANES, single=True)
            new[:, : table.shape[1]] = table
            new[:, table.shape[1] :] = np.tile(table[:, -LANES:], cells - self.cells)
            return new

        self.q, self.w, self.geo, self.of_cells = map(wider, (self.q, self.w, self.geo, self.of_cells))
        self.cells = cells


def _cells(running: Running) -> int:
    """Cells up to the idle one behind the last duct; further ones only fill a cache line where an engine is alone."""
    return int(running.tables.network.ends[:, FACE].max()) + 1


def _even(cells: int) -> int:
    """So many or one more: rows then begin at cache lines."""
    return cells + cells % 2


def _each(running: Running) -> tuple[Any, ...]:
    """Tables that lie one engine behind the other."""
    t = running.tables
    return t.network.ends, t.port_of_end, t.ways, t.end_data, t.ports, running.trace, t.pipe


def kind(running: Running) -> tuple[Any, ...]:
    """What engines must have in common to share a time loop."""
    t, n = running.tables, running.tables.network
    return (
        n.gas.tobytes(), t.port_of_end.tobytes(), n.ends.shape, n.sizes.size, len(n.steps), t.ports.shape,
        running.trace.shape, running.settings.cell_m, running.settings.most_steps,
    )  # fmt: skip


class Job:
    """A task with all that it sent on its way; its future gets what the task returned, when all of them are done."""

    def __init__(self, task: Task) -> None:
        self.task = task
        self.future: Future[Any] = Future()
        self.open = 1
        self.value: Any = None


class Jobs:
    """Jobs that some thread brings and others take, until it says that no more will come."""

    def __init__(self) -> None:
        # not a SimpleQueue: in Python 3.11 its wait for a while may never end where several wait, or one was put off
        self.queue: Queue[Job] = Queue()
        self.complete = False

    def take(self, wait_s: float) -> Job | None:
        """The next job, waiting a while for it; None where none came."""
        try:
            return self.queue.get(timeout=wait_s) if wait_s else self.queue.get_nowait()
        except Empty:
            return None


def work_off(jobs: Jobs) -> Iterator[None]:
    """Turn the engines of all jobs until they are done; yields after each call of a time loop, to stop at will.

    Begins another job only while no time loop is full, and prefers fine cells, so that few engines are held at once.
    """
    groups: dict[tuple[Any, ...], Lanes] = {}
    of: dict[int, Job] = {}

    def go_on(task: Task, job: Job, status: int | None = None, running: Running | None = None) -> None:
        try:
            if running is None:
                asked = next(task)
            else:
                try:
                    running.turned(FINE if status is None else status)
                except ScribelineError as error:
                    asked = task.throw(error)
                else:
                    asked = next(task)
            while not isinstance(asked, Running):
                job.open += 1
                go_on(asked, job)
                asked = next(task)
        except StopIteration as end:
            of.pop(id(task), None)
            job.value = end.value if task is job.task else job.value
            job.open -= 1
            if not job.open:
                job.future.set_result(job.value)
            return
        of[id(task)] = job
        key = kind(asked)
        if key not in groups:
            groups[key] = Lanes(asked)
        groups[key].waiting.append((task, asked))

    while True:
        fullest = max(groups.values(), key=lambda one: (min(one.engines, LANES), one.cells), default=None)
        idle = fullest is None or not fullest.engines
        if fullest is None or fullest.engines < LANES:
            complete = jobs.complete  # before looking: what came until then is seen
            job = jobs.take(WAIT_S if idle and not complete else 0.0)
            if job is not None:
                go_on(job.task, job)
                continue
            if idle and complete:
                return
        if fullest is not None and not idle:
            for task, running, status in fullest.turn():
                go_on(task, of[id(task)], status, running)
        yield


def work_off_alone(jobs: Jobs) -> Iterator[None]:
    """As `work_off`, one engine after the other in the time loop for one: where there are too few to share one."""
    while True:
        complete = jobs.complete
        job = jobs.take(0.0 if complete else WAIT_S)
        if job is not None:
            job.future.set_result((yield from turn_alone(job.task)))
        elif complete:
            return
        yield


def turn_alone(task: Task) -> Generator[None, None, Any]:
    """Turn the engines of a task and of those it sends on their way, one after the other; returns what it returned."""
    error: ScribelineError | None = None
    while True:
        try:
            asked = next(task) if error is None else task.throw(error)
        except StopIteration as end:
            return end.value
        error = None
        if isinstance(asked, Running):
            try:
                asked.turn()
            except ScribelineError as failed:
                error = failed
            yield
        else:
            yield from turn_alone(asked)


def turn_curves(tasks: Sequence[Task], stopped: Callable[[], bool]) -> None:
    """Turn the engines of each task in a thread of its own, and what is left of them in all threads together.

    stopped : asked between two calls of a time loop; where it says so nothing further is begun
    """
    left: deque[tuple[Task, Running]] = deque()
    through: list[Task] = []
    interrupted = False

    def work(task: Task) -> None:
        try:
            for _ in turn_curve(task, left):
                if interrupted or stopped():
                    break
        finally:
            through.append(task)
        for _ in turn_left(left, lambda: len(through) < len(tasks)):
            if interrupted or stopped():
                return

    with ThreadPoolExecutor(max(len(tasks), 1)) as pool:
        try:
            list(pool.map(work, tasks))
        finally:
            interrupted = True  # let every thread finish the revolution it is at, and no more


def turn_curve(task: Task, left: deque[tuple[Task, Running]]) -> Iterator[None]:
    """Turn the engines of a task by themselves, then those of the tasks it sent on their way side by side.

    A time loop for eight takes as long as some single ones: the last few are added to `left`. Yields before each call
    of a time loop.
    """
    sent: list[Task] = []
    asked = _next(task)
    while asked is not None:
        if isinstance(asked, Running):
            yield
            asked = _next(task, asked.turn)
        else:
            sent.append(asked)
            asked = _next(task)
    groups: dict[tuple[Any, ...], deque[tuple[Task, Running]]] = {}
    for one in sent:
        asked = _next(one)
        if isinstance(asked, Running):
            groups.setdefault(kind(asked), deque()).append((one, asked))
    for going in groups.values():
        if len(going) >= ENOUGH:
            yield from _while_enough(going)
        left.extend(going)


def turn_left(left: deque[tuple[Task, Running]], more: Callable[[], bool]) -> Iterator[None]:
    """Turn what is left by turns, a revolution each, until none goes on; threads that do so share the work evenly.

    more : whether others may still be added. Yields before each call of a time loop, and now and then while it waits.
    """
    while True:
        complete = not more()  # before looking: what was added until then is seen
        yield
        try:
            one, running = left.popleft()
        except IndexError:
            if complete:
                return
            time.sleep(0.1 * WAIT_S)
            continue
        if _next(one, running.turn) is not None:
            left.append((one, running))


def _while_enough(going: deque[tuple[Task, Running]]) -> Iterator[None]:
    """Turn engines side by side until fewer than ENOUGH go on."""
    lanes = Lanes(going[0][1])
    lanes.waiting.extend(going)
    going.clear()
    while lanes.engines:
        yield
        for one, running, status in lanes.turn():
            if _next(one, partial(running.turned, status)) is not None:
                lanes.waiting.append((one, running))
        if lanes.engines < ENOUGH:  # whoever is within a revolution ends that
            going.extend(lanes.waiting)
            lanes.waiting.clear()


def _next(task: Task, turn: Callable[[], None] | None = None) -> "Running | Task | None":
    """What a task asks for next, once the engine that it asked for has been turned; None where it is through."""
    try:
        if turn is not None:
            try:
                turn()
            except ScribelineError as error:
                return task.throw(error)
        return next(task)
    except StopIteration:
        return None
