"""The ledger, the history and a comparison of two revisions as text and as JSON."""

import json
from collections.abc import Sequence
from typing import Any

from scribeline import __version__
from scribeline.learning.words import all_words, beside_words, glyph, places, promised
from scribeline.tasks.history import Timeline
from scribeline.tasks.history_compare import TwoRevisions
from scribeline.tasks.ledger_state import Ledger, Promise


def promise_text(one: Promise) -> str:
    """One prediction in one line, with what was measured where it was."""
    if one.left_out:
        return f"{one.number}. {one.prediction.what}: {promised(one.prediction)}, left out: {one.left_out}"
    if one.beside is None:
        return f"{one.number}. {one.prediction.what}: predicted {promised(one.prediction)}, not measured yet"
    return f"{one.number}. {beside_words(one.beside)}"


def ledger_text(ledger: Ledger) -> str:
    """Every prediction, what all of them teach, and the lessons."""
    lines = [f"{ledger.build_name}: predictions beside what was measured"]
    lines += [f"  {promise_text(one)}" for one in ledger.promises] or ["  no prediction is kept yet"]
    for heading, sentences in taught(ledger):
        lines += ["", f"{heading}:", *(f"  - {words}" for words in sentences)]
    if ledger.lessons:
        lines += ["", "lessons:", *(f"  {one.number}. {one.note} ({one.author})" for one in ledger.lessons)]
    return "\n".join(lines)


def taught(ledger: Ledger) -> list[tuple[str, list[str]]]:
    """What this build's ledger teaches, and with it those of all others: a heading, and sentences."""
    found = [("what this cylinder teaches", ledger.learned)]
    found += [("together with every other cylinder", ledger.of_all)] if ledger.of_all != ledger.learned else []
    return [(heading, all_words(told)) for heading, told in found if told]


def timeline_text(history: Timeline) -> str:
    """One line for each event."""
    rows = [(one.day, _KINDS[one.kind] + (f" {one.number}" if one.kind == "record" else ""), one.words, one.author)
            for one in history.events]  # fmt: skip
    widths = [max((len(row[i]) for row in rows), default=0) for i in range(2)]
    lines = [f"{history.build}: its history"]
    for day, kind, words, author in rows:
        by = f" ({author})" if author else ""
        lines.append(f"  {day.rjust(widths[0])}  {kind.ljust(widths[1])}  {' '.join(words.split())}{by}")
    return "\n".join(lines)


_KINDS = {
    "record": "revision", "promise": "predicted", "measured": "measured", "sheets": "sheets", "runs": "trial",
    "lesson": "lesson", "file": "file",
}  # fmt: skip


def two_text(two: TwoRevisions) -> str:
    """What differs between two revisions, and which numbers of the card follow."""
    was, now = two.heads
    lines = [f"{two.after.build_name}: {was} beside {now}"]
    if two.same_text:
        return "\n".join([*lines, "  the two records are identical"])
    lines += [f"  {one}" for one in two.differences] or ["  no reading differs; the text does, in comments or layout"]
    if two.moved:
        lines += ["", "what follows:"]
        lines += [f"  {words}" for words in moved_words(two)]
    return "\n".join(lines)


def moved_words(two: TwoRevisions) -> list[str]:
    """The numbers of the card that differ, each in one line, with the digits that their difference supports."""
    found = []
    for one in two.moved:
        digits = places(abs(one.by)) if one.by else 3
        was, now = (
            "none" if value is None else f"{value:.{digits}f}{glyph(one.unit)}" for value in (one.before, one.after)
        )
        found.append(f"{one.label}: {was} -> {now}")
    return found


def ledger_json(ledger: Ledger) -> str:
    """Everything about a ledger as one JSON document."""
    document = {
        "scribeline": __version__,
        "build": ledger.build_name,
        "predictions": [_promise_json(one) for one in ledger.promises],
        "learned": _learned_json(ledger.learned),
        "learned_from_every_build": _learned_json(ledger.of_all),
        "lessons": [
            {"entry": one.number, "words": one.note, "author": one.author, "at": one.made_at.isoformat()}
            for one in ledger.lessons
        ],
    }
    return json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False)


def promises_json(promises: Sequence[Promise]) -> str:
    """Some predictions as a JSON list."""
    return json.dumps([_promise_json(one) for one in promises], indent=2, ensure_ascii=False, allow_nan=False)


def _promise_json(one: Promise) -> dict[str, Any]:
    told = one.prediction
    document: dict[str, Any] = {
        "entry": one.number, "revision": one.entry.revision_number, "what": told.what, "quantity": told.quantity,
        "unit": told.unit, "value": told.value, "low": told.low, "high": told.high, "came_from": told.came_from,
        "settings": dict(one.entry.data.get("settings", {})), "version": one.entry.data.get("scribeline"),
        "kept_at": one.entry.made_at.isoformat(), "left_out": one.left_out, "measured": None,
    }  # fmt: skip
    if one.beside is not None and one.measured is not None:
        got = one.beside
        document["measured"] = {
            "entry": one.measured.number, "value": got.measurement.value, "plus_minus": got.measurement.plus_minus,
            "seen_in": one.measured.data.get("seen_in", ""), "verdict": got.verdict, "difference": got.difference,
            "in_plus_minus": got.in_plus_minus if abs(got.in_plus_minus) < float("inf") else None,
        }  # fmt: skip
    return document


def _learned_json(learned: Sequence[Any]) -> list[dict[str, Any]]:
    return [
        {
            "quantity": one.quantity, "came_from": one.came_from, "held": one.coverage.held, "of": one.coverage.of,
            "share_low": one.coverage.low, "share_high": one.coverage.high,
            "factor": vars(one.scaled) if one.scaled else None, "words": all_words([one]),
        }
        for one in learned
    ]  # fmt: skip
