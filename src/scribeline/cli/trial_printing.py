"""What the commands of `scribeline trial` print."""

import sys
import textwrap
from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scribeline.tasks.trials import Added, Shown


def tell(sentence: str) -> None:
    """Say on standard error what was done unasked."""
    print(sentence, file=sys.stderr)


def time_words(moment: datetime) -> str:
    """A moment, to the minute."""
    return f"{moment:%Y-%m-%d %H:%M} UTC"


def print_table(rows: Sequence[tuple[str, ...]]) -> None:
    """Columns under each other."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    for row in rows:
        print("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())


def print_caution() -> None:
    """What comes before any run, short, last on standard output."""
    from scribeline.tasks.cautions import cautions_text

    for line in textwrap.wrap(cautions_text("trial")[0], 100):
        print(line)


def print_added(added: "list[Added]", done: str = "added") -> None:
    """What became of each file."""
    for one in added:
        if one.why_not:
            print(
                f"{one.path.name or one.path}: stayed out\n    " + one.why_not.replace("\n", "\n    "), file=sys.stderr
            )
            continue
        thing = "rows" if one.format.startswith("gate") else "pulls"
        print(f"{one.path.name}: {done}, {one.runs} {thing if one.runs != 1 else thing[:-1]} ({one.format})")
        for note in one.notes:
            print(f"    {note}")


def print_shown(shown: "Shown") -> None:
    """A trial as it stands."""
    state, measured = shown.state, shown.measured
    trial = state.trial
    driven = f", revision {trial.revision_number} of {trial.build_name!r}" if trial.build_name else ""
    print(f"{trial.name}, since {time_words(trial.created_at)}{driven}")
    if trial.note:
        print(trial.note)
    if state.air is not None:
        print(
            f"air {state.air.t_c:g} °C, {state.air.p_pa / 100:g} hPa, vapour {state.air.vapour_pa / 100:.1f} hPa: "
            f"{state.air.density_kg_m3:.3f} kg/m³"
        )
    if state.files:
        print()
        rows = [("file", "name", "format", "speed from", "pulls or rows", "added")]
        for entry in state.files:
            data = entry.data
            count = len(data["table"]) if "table" in data else len(data["found"])
            rows.append(
                (str(entry.number), str(entry.file_name), data["format"], data.get("speed_from", "typed"), str(count),
                 time_words(entry.made_at))
            )  # fmt: skip
        print_table(rows)
    if measured.runs:
        print()
        keys = [one.key for one in measured.measures]
        listed: list[tuple[str, ...]] = [("setup", "run", *keys, "direction", "remark")]
        for run in measured.runs:
            cells = []
            for key in keys:
                value = run.measures.get(key)
                spread = "" if value is None or value.plus_minus is None else f" ±{value.plus_minus:.2g}"
                cells.append("-" if value is None else f"{value.value:.4g}{spread}")
            listed.append(
                (run.setup, run.name, *cells, run.direction, f"dropped: {run.dropped}" if run.dropped else "")
            )
        print_table(listed)
    corrected = [one for one in state.pulls if one.pull.reasons]
    if corrected:
        print()
    for one in corrected:
        pull = one.pull
        found = (
            "added by hand" if pull.found_start_s is None else f"found {pull.found_start_s:g} to {pull.found_end_s:g} s"
        )
        print(
            f"pull {one.file}.{pull.number}: {pull.start_s:g} to {pull.end_s:g} s ({found}): {'; '.join(pull.reasons)}"
        )
    for words in measured.said:
        print(f"- {words}")
    if shown.vehicle is not None and measured.powers:
        for words in shown.vehicle.assumed:
            print(f"- assumed: {words}")
