"""What the tests have done in worker processes."""

import os
import signal
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from scribeline.errors import TrialError

Tell = Callable[[Any], None]
Stopped = Callable[[], bool]


def add(one: float, other: float, *, tell: Tell, stopped: Stopped) -> tuple[float, int]:
    return one + other, os.getpid()


def count_up(to: int, *, tell: Tell, stopped: Stopped) -> str:
    for number in range(to):
        tell({"at": number})
    return "counted"


def until_stopped(*, tell: Tell, stopped: Stopped) -> str:
    tell(os.getpid())
    while not stopped():
        time.sleep(0.005)
    return "what there was by then"


def brings_together(for_s: float, *, tell: Tell, stopped: Stopped) -> str:
    found = until_stopped(tell=tell, stopped=stopped)
    time.sleep(for_s)
    return found


def deaf(*, tell: Tell, stopped: Stopped) -> None:
    tell(os.getpid())
    time.sleep(60)


def refuses(*, tell: Tell, stopped: Stopped) -> None:
    raise TrialError("no runs\n    accepted: two or more\n    what to do: drive again")


def breaks(*, tell: Tell, stopped: Stopped) -> None:
    raise ZeroDivisionError("a fault")


def returns_what_cannot_travel(*, tell: Tell, stopped: Stopped) -> object:
    return lambda: None


def ends_itself(number: int, *, tell: Tell, stopped: Stopped) -> None:
    os.kill(os.getpid(), number)
    time.sleep(60)


def dies_at_import() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def slow_to_load() -> None:
    time.sleep(0.2)
    with open(os.environ["SCRIBELINE_TEST_MARKS"], "a") as marks:
        marks.write("loaded\n")


def loads_until_told() -> None:
    marks = Path(os.environ["SCRIBELINE_TEST_MARKS"])
    (marks / "loading").touch()
    while not (marks / "go on").exists():
        time.sleep(0.005)


def takes_memory(mib: int, *, tell: Tell, stopped: Stopped) -> int:
    return len(bytearray(mib * 1024**2))


def takes_processor_time(seconds: float, *, tell: Tell, stopped: Stopped) -> str:
    end = time.process_time() + seconds
    while time.process_time() < end:
        pass
    return "rested"


def leaves_a_mark(path: Path, *, tell: Tell, stopped: Stopped) -> None:
    path.write_text(str(os.getpid()))
    while True:
        time.sleep(0.01)
