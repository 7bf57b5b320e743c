"""What runs in a worker process: takes one job at a time, tells how far it is, and ends when the server is gone.

Nothing heavy is imported here: a worker is ready within the time that a bare interpreter takes to start, and imports
what is slow (`preload`) only while nobody waits for it.

Messages are pickled tuples. To the worker: ("job", payload, Limits | None), ("stop",). From it: ("ready",),
("began",) when it takes a job up, ("tell", value), ("done", result), ("failed", name of the error's class, its
sentence, its Problems).
"""

import contextlib
import gc
import importlib
import os
import pickle
import queue
import signal
import sys
import threading
import time
import traceback
from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from multiprocessing.connection import Connection
from typing import Any

from scribeline.errors import ScribelineError


@dataclass(frozen=True)
class Limits:
    """What a job may use that reads something from outside, such as a photograph.

    memory_mib : address space beyond what the process holds already, [MiB]
    cpu_s : processor time, [s]

    They hold where the system has `resource` (Linux, macOS); on others the job runs without them.
    """

    memory_mib: int = 1024
    cpu_s: int = 60


def work(connection: Connection, preload: Sequence[str]) -> None:
    """Take jobs from the connection until it closes."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the server, which then closes the connection
    if hasattr(os, "nice"):
        os.nice(5)  # answering the page comes first
    jobs: queue.SimpleQueue[tuple[Any, ...]] = queue.SimpleQueue()
    stop = threading.Event()
    threading.Thread(target=_listen, args=(connection, jobs, stop), daemon=True).start()
    connection.send(("ready",))
    left = deque(preload)
    gc.disable()  # modules are no garbage, and searching them for some takes a part of the time
    while True:
        if left and jobs.empty():
            _preload(left.popleft())
            continue
        if not gc.isenabled():
            gc.freeze()
            gc.enable()
        _, payload, limits = jobs.get()
        connection.send(("began",))
        connection.send(_answer(connection, payload, limits, stop))


def _listen(connection: Connection, jobs: "queue.SimpleQueue[tuple[Any, ...]]", stop: threading.Event) -> None:
    """Pass on what the server sends. When it is gone, so is this process, whatever it was doing."""
    try:
        while True:
            message = connection.recv()
            if message[0] == "stop":
                stop.set()
            else:
                stop.clear()
                jobs.put(message)
    except (EOFError, OSError):
        os._exit(0)


def _preload(name: str) -> None:
    """Import a module, or call a function given as module:function. What fails here is told where a job needs it."""
    module, _, function = name.partition(":")
    try:
        found = importlib.import_module(module)
        if function:
            getattr(found, function)()
    except Exception:
        traceback.print_exc()


def _answer(connection: Connection, payload: bytes, limits: Limits | None, stop: threading.Event) -> tuple[Any, ...]:
    if stop.is_set():  # asked to stop before it was begun
        return "done", None
    try:
        function, args, kwargs = pickle.loads(payload)
        one_at_a_time = threading.Lock()

        def tell(value: Any) -> None:
            with one_at_a_time:  # threads of the job may tell at once
                connection.send(("tell", value))

        with _limited(limits):
            result = function(*args, tell=tell, stopped=stop.is_set, **kwargs)
        pickle.dumps(result)  # what cannot be sent is found here, where it can still be told
    except ScribelineError as error:
        return "failed", type(error).__name__, str(error), getattr(error, "problems", [])
    except MemoryError:
        return "failed", "MemoryError", "", []
    except Exception as error:
        traceback.print_exc()
        return "failed", type(error).__name__, str(error), []
    return "done", result


@contextlib.contextmanager
def _limited(limits: Limits | None) -> Iterator[None]:
    """Hold this process to the limits inside the block. Beyond its processor time the system ends it."""
    if limits is None or sys.platform == "win32":
        yield
        return
    import resource

    kinds = {resource.RLIMIT_CPU: int(time.process_time()) + limits.cpu_s + 1}
    with contextlib.suppress(OSError), open("/proc/self/statm") as file:
        held_bytes = int(file.read().split()[0]) * resource.getpagesize()
        kinds[resource.RLIMIT_AS] = held_bytes + limits.memory_mib * 1024**2
    before = {kind: resource.getrlimit(kind) for kind in kinds}
    for kind, most in kinds.items():
        hard = before[kind][1]
        resource.setrlimit(kind, (most if hard == resource.RLIM_INFINITY else min(most, hard), hard))
    try:
        yield
    finally:
        for kind, limit in before.items():
            resource.setrlimit(kind, limit)
