"""Times typed into a grid.

Plain inputs that the browser minds itself (static/prove.js): a day of two hundred runs stays light, the last row is
always empty, and a paste from a spreadsheet fills as many rows as it has.
"""

import json
import secrets
from html import escape

from nicegui import events, ui

from scribeline.errors import ScribelineError
from scribeline.tasks.trial_rows import COLUMNS, TypedRow, gate_column, pasted, type_cells
from scribeline.web.pages.prove.open_trial import OpenTrial, field
from scribeline.web.shell import button, failure, text

WORDS = {"setup": "setup", "direction": "direction", "order": "place in the day", "notes": "notes"}


def typed_times(trial: OpenTrial) -> None:
    """The grid, a field for another gate, and what is not understood."""
    text(
        "Seconds as you read them: 4.89 or 4,89 or 1:05.2, with ±0.1 behind it if you like. Each cell is saved when "
        "you leave it; Enter goes down. Paste from a spreadsheet into the first cell that it belongs to."
    )
    with ui.element("div").classes("row"):
        gate = field("Another gate", draft=f"{trial.name}: another gate", hint="such as 30 to 55 km/h")
        further: list[str] = []

        def add() -> None:
            try:
                further.append(gate_column(str(gate.value or "")))
            except ScribelineError as refusal:
                failure(refusal)
                return
            gate.set_value("")
            show()

        button("Add a column for it", add)
        gate.on("keydown.enter", add)
    grid = ui.html("", sanitize=False, tag="div").classes("grid-typed")
    shown: dict[str, tuple[str, ...]] = {"columns": ()}

    def columns() -> tuple[str, ...]:
        state = trial.now.state
        gates = dict.fromkeys([gate.name for gate in state.gates] + [*state.typed.gates, *further])
        return ("setup", "direction", *gates, "order", "notes")

    def show() -> None:
        rows = trial.now.state.typed.rows
        if shown["columns"] != columns():
            shown["columns"] = columns()
            grid.set_content(_table(trial.name, columns(), rows, trial.now.state.number))
        else:
            told = [{"row": row.key, "cells": dict(row.cells), "problems": dict(row.problems)} for row in rows]
            tell(f"prove.cells({json.dumps(told)}, {trial.now.state.number})")

    def tell(call: str) -> None:
        trial.page.client.run_javascript(f"window.prove && {call}")

    async def cell(event: events.GenericEventArguments) -> None:
        row, column, words, path = (str(event.args.get(key, "")) for key in ("row", "column", "text", "path"))
        refused: list[ScribelineError] = []
        number = await trial.do(
            type_cells, trial.name, [(row, column, words)], seen=trial.seen, refused=refused.append
        )  # fmt: skip
        if refused:
            failure(refused[0])
            tell(f"prove.refused({json.dumps(path)})")
        else:  # kept under this number; None where another device was there first, which is shown
            tell(f"prove.answered({json.dumps([path, words])}, {int(number or 0)}, {json.dumps(number is not None)})")
            show()

    async def paste(event: events.GenericEventArguments) -> None:
        keys = [str(key) for key in event.args.get("rows", [])]
        keys += [secrets.token_hex(6) for _ in range(str(event.args.get("text", "")).count("\n") + 1)]
        try:
            cells = pasted(str(event.args.get("text", "")), columns(), str(event.args.get("column", "")), keys)
        except (ScribelineError, ValueError) as refusal:
            failure(str(refusal))
            return
        further.extend(column for _, column, _ in cells if column not in (*COLUMNS, *further))
        await trial.do(type_cells, trial.name, cells, seen=trial.seen)

    ui.on("prove_cell", cell)
    ui.on("prove_paste", paste)
    trial.on_change(show)


def _table(trial: str, columns: tuple[str, ...], rows: tuple[TypedRow, ...], number: int) -> str:
    head = "".join(f'<th scope="col">{escape(WORDS.get(one, f"{one}, s"))}</th>' for one in columns)
    body = "".join(_row(trial, columns, row) for row in rows)
    empty = _row(trial, columns, TypedRow("", len(rows) + 1, {}, {}))
    return (
        f'<table class="typed" data-trial="{escape(trial)}" data-number="{number}"><thead><tr>'
        f'<th scope="col">row</th>{head}</tr></thead><tbody>{body}{empty}</tbody></table>'
    )


def _row(trial: str, columns: tuple[str, ...], row: TypedRow) -> str:
    cells = []
    for column in columns:
        words = WORDS.get(column, f"{column}, s")
        problem = row.problems.get(column, "")
        mode = "text" if column in ("setup", "direction", "notes") else "decimal"
        path = f"prove.{trial}.{row.key}.{column}"
        wrong = ' aria-invalid="true"' if problem else ""
        cells.append(
            f'<td data-words="{escape(words)}"><input type="text" inputmode="{mode}" autocomplete="off" '
            f'data-column="{escape(column)}" data-path="{escape(path) if row.key else ""}" '
            f'aria-label="{escape(words)}, row {row.number}" value="{escape(row.cells.get(column, ""))}"{wrong}>'
            f'<span class="problem">{escape(problem)}</span></td>'
        )
    key = escape(row.key)
    return f'<tr data-row="{key}"><th scope="row">{row.number}</th>{"".join(cells)}</tr>'
