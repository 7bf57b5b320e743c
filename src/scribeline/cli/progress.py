"""A progress bar on standard error; nothing at all where that is not a screen."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager


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
