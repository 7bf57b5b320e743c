"""A progress bar on standard error; nothing at all where that is not a screen."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.progress import TaskID


@contextmanager
def bar(words: str) -> Iterator[Callable[[int, int], None]]:
    """A bar while the block runs, moved by calling what it gives with done and all."""
    if not sys.stderr.isatty():
        yield lambda done, count: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as shown:
        task = shown.add_task(words, total=None)

        def tick(done: int, count: int) -> None:
            shown.update(task, completed=done, total=count)

        yield tick


@contextmanager
def phases() -> Iterator[Callable[[str, int, int], None]]:
    """The same for work in several stretches: called with what is being done as well, it begins a new bar for each."""
    if not sys.stderr.isatty():
        yield lambda words, done, count: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as shown:
        tasks: dict[str, TaskID] = {}

        def tick(words: str, done: int, count: int) -> None:
            if words not in tasks:
                for task in tasks.values():
                    shown.update(task, visible=False)
                tasks[words] = shown.add_task(words, total=count)
            shown.update(tasks[words], completed=done, total=count)

        yield tick
