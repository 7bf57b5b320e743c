"""Two revisions of a build beside each other: readings that differ in words, drawings laid over each other."""

import statistics
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from scribeline.engine import EngineRecord, read_record
from scribeline.errors import NotebookError, ScribelineError
from scribeline.geometry.work_out import WorkedOut, work_out
from scribeline.marking.before_after import SAME_MM, bore_before_after, dial_before_after, section_before_after
from scribeline.marking.bore_view import Bore
from scribeline.marking.pipe_view import pipe_view
from scribeline.marking.shapes import Drawing
from scribeline.marking.svg import write_svg
from scribeline.notebook import Notebook, Revision
from scribeline.plan.what_if import Moved, what_moved
from scribeline.tasks.difference_words import Difference, record_differences
from scribeline.tasks.drawings import bore_of, dial_of, pipe_of, section_of
from scribeline.tasks.notebook import Tell, Where, opened, silently
from scribeline.units import Units

CRANK_DEG = 60.0


@dataclass(frozen=True)
class TwoRevisions:
    """Two revisions of a build, worked out.

    differences : readings that differ, in the order of the record; moved : numbers of the card that follow, in theirs
    units : what lengths in words and drawings are read in
    """

    before: Revision
    after: Revision
    was: WorkedOut
    now: WorkedOut
    differences: tuple[Difference, ...]
    moved: tuple[Moved, ...]
    units: Units = "mm"

    @property
    def same_text(self) -> bool:
        """Whether even comments and layout are the same."""
        return self.before.record_sha256 == self.after.record_sha256

    @property
    def heads(self) -> tuple[str, str]:
        """What the two are called."""
        return f"revision {self.before.number}", f"revision {self.after.number}"


def compare_two(build: str, before: int, after: int, *, where: Where = None, tell: Tell = silently) -> TwoRevisions:
    """Lay two revisions beside each other, in either order. Raises NotebookError where one of them is not there."""
    with opened(where, tell=tell) as notebook:
        return compare_in(notebook, build, before, after)


def compare_in(notebook: Notebook, build: str, before: int, after: int) -> TwoRevisions:
    """The same from a notebook that is open already."""
    first, second = (notebook.revision(build, number) for number in (before, after))
    return compare_pair(first, second)


def compare_pair(first: Revision, second: Revision, units: Units = "mm") -> TwoRevisions:
    """The same of two revisions that are at hand. units : what lengths are read in"""
    was, now = (work_out(record_of_revision(one), draws=0) for one in (first, second))
    told = record_differences(tomllib.loads(first.record_toml), tomllib.loads(second.record_toml), units)
    moved = tuple(one for one in what_moved(was, now) if not one.inner)
    return TwoRevisions(first, second, was, now, tuple(told), moved, units)


def record_of_revision(revision: Revision) -> EngineRecord:
    """The record of a revision; NotebookError where this program does not take it any more."""
    try:
        return read_record(revision.record_toml, f"revision {revision.number}")
    except ScribelineError as error:
        raise NotebookError(
            f"Revision {revision.number} of {revision.build_name!r} cannot be worked out by this program:\n{error}\n"
            "    kept: the record, as it was\n    what to do: choose another revision"
        ) from error


def overlaid(two: TwoRevisions) -> Mapping[str, Drawing | str]:
    """Bore, timing, section and pipe of both, the earlier broken and the later full; or why one cannot be drawn."""
    return {
        "The bore": _bore(two), "Timing": _dial(two), "Section": _section(two), "Pipe": _pipe(two)
    }  # fmt: skip


def _bore(two: TwoRevisions) -> Drawing | str:
    was, now = bore_of(two.was, two.units), bore_of(two.now, two.units)
    if was is None or now is None:
        return "Not drawn: one of the two lacks the deck clearance, or edges and width of a port."
    return _in_their_words(bore_before_after(was, now, lowered_mm(was, now)), two)


def lowered_mm(before: Bore, after: Bore) -> float:
    """What came off the barrel's top between two measurements, as far as its ports tell; 0 where they do not.

    Of all edges that were measured both times, more than half must have come nearer to the deck by one amount, to a
    tenth of a millimetre: files move an edge here and there, and only a lower deck moves most of them alike.
    """
    was = {port.name: port for port in before.ports}
    nearer = [
        a - b
        for port in after.ports
        if (old := was.get(port.name)) is not None
        for a, b in ((old.roof_depth_mm, port.roof_depth_mm), (old.floor_depth_mm, port.floor_depth_mm))
    ]
    if not nearer:
        return 0.0
    common = statistics.median(nearer)
    alike = sum(abs(one - common) < 0.1 for one in nearer)
    return common if 2 * alike > len(nearer) and common > SAME_MM else 0.0


def _dial(two: TwoRevisions) -> Drawing | str:
    was, now = dial_of(two.was), dial_of(two.now)
    if was is None or now is None:
        return "Not drawn: in one of the two no port's edges are known."
    return _in_their_words(dial_before_after(was, now), two)


def _section(two: TwoRevisions) -> Drawing | str:
    was, now = section_of(two.was, CRANK_DEG, two.units), section_of(two.now, CRANK_DEG, two.units)
    if was is None or now is None:
        return "Not drawn: one of the two lacks the deck clearance."
    return _in_their_words(section_before_after(was, now), two)


def _pipe(two: TwoRevisions) -> Drawing | str:
    was, now = pipe_of(two.was.record, two.units), pipe_of(two.now.record, two.units)
    if now is None or was is None:
        return "Not drawn: one of the two has no pipe with its sections."
    if was == now:
        return "The pipe is the same in both."
    return _in_their_words(pipe_view(now, was), two)


def _in_their_words(drawing: Drawing, two: TwoRevisions) -> Drawing:
    """The drawing of a plan, said of two records: neither is to come."""
    was, now = two.heads
    said = {
        "as it shall be": f"in {now}", "as it is": f"in {was}", "as they are": f"in {was}",
        "than it is": f"than in {was}", "the pipe that is fitted": f"the pipe of {was}",
    }  # fmt: skip

    def words(text: str) -> str:
        for old, new in said.items():
            text = text.replace(old, new)
        return text

    groups = tuple(replace(one, about=words(one.about)) for one in drawing.groups)
    title = f"{drawing.title.partition(',')[0]}: {was} broken, {now} full"
    return replace(drawing, title=title, description=words(drawing.description), groups=groups)


def write_overlaid(two: TwoRevisions, folder: Path) -> Iterator[str]:
    """Write each drawing as NAME.svg into a folder; what was written, or why not, in words."""
    from scribeline.tasks.curve_page import write_page  # with it comes the simulation, which words do without

    for heading, drawing in overlaid(two).items():
        if isinstance(drawing, str):
            yield f"{heading}: {drawing}"
            continue
        path = folder / f"{drawing.name}.svg"
        write_page(write_svg(drawing), path)
        yield f"Written: {path.resolve()}"
