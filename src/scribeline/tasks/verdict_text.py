"""A comparison as text: the sentence first, then what it rests on, then every run."""

import textwrap
from collections.abc import Iterator, Sequence

from scribeline.sources import source
from scribeline.tasks.verdicts import Compared
from scribeline.trials.runs import Measure, Run
from scribeline.trials.verdict import Verdict
from scribeline.trials.wording import amount, exact_words, p_words, plain, sentence, slope_words

WIDTH = 100


def verdict_text(compared: Compared, *, every_run: bool = True) -> str:
    """The whole verdict, at most WIDTH characters wide but for the table of runs."""
    lines = ["THE VERDICT"]
    for said in sentences_of(compared):
        lines += textwrap.wrap(said, WIDTH, initial_indent="  ", subsequent_indent="  ")
    lines += ["", "MEASURE BY MEASURE (second less first, with its 95 % interval)", *_columns(measure_rows(compared))]
    for said in remarks_of(compared):
        lines += textwrap.wrap(said, WIDTH, initial_indent="  ", subsequent_indent="  ")
    lines += ["", "WHAT IT RESTS ON"]
    for said in grounds_of(compared):
        lines += _item("-", said)
    if warnings := warnings_of(compared):
        lines += ["", "BEFORE YOU BELIEVE IT"]
        for warning in warnings:
            lines += _item("!", warning)
    if every_run:
        lines += ["", "EVERY RUN", *_columns(run_rows(compared))]
    if compared.said:
        lines += ["", "SAID WHILE READING"]
        for words in compared.said:
            lines += _item("-", words)
    lines += ["", "RELIES ON"]
    texts = ", ".join(source(key).key for key in compared.sources)
    lines += textwrap.wrap(texts, WIDTH, initial_indent="  ", subsequent_indent="  ")
    lines += ["", "CAUTIONS"]
    for caution in compared.cautions:
        lines += _item("*", caution.text)
    return "\n".join(lines)


def _item(mark: str, text: str) -> list[str]:
    lead = f"  {mark} "
    return textwrap.wrap(text, WIDTH, initial_indent=lead, subsequent_indent=" " * len(lead))


def sentences_of(compared: Compared) -> list[str]:
    """What the runs show of the measures that speak, one sentence for each setup but the first."""
    one = compared.comparison
    return [f"{main.key}: {sentence(verdict)}" for main in one.mains for verdict in one.of(main)]


def measure_rows(compared: Compared) -> list[tuple[str, ...]]:
    """Every measure and setup as a row of words, the headings first."""
    rows: list[tuple[str, ...]] = [
        ("measure", "setups", "first", "second", "difference", "95 % interval", "p", "shown")
    ]
    for verdict in compared.comparison.verdicts:
        half, unit = 0.5 * (verdict.high - verdict.low), verdict.measure.unit
        rows.append(
            (
                verdict.measure.key,
                f"{verdict.second.setup} less {verdict.first.setup}",
                plain(verdict.first.mean, half),
                plain(verdict.second.mean, half),
                f"{amount(verdict.difference, unit, half)}",
                f"{plain(verdict.low, half)} to {plain(verdict.high, half)}",
                p_words(verdict.p_adjusted),
                "yes" if verdict.shown else "no",
            )
        )
    return rows


def remarks_of(compared: Compared) -> list[str]:
    """How the rows of measures are to be read."""
    said = []
    beside = list(dict.fromkeys(name for v in compared.comparison.verdicts for name in v.design.covariates))
    if beside:
        said.append(f"Means are as driven; differences have {' and '.join(beside)} taken out.")
    mains = [main.key for main in compared.comparison.mains]
    if len(compared.comparison.measures) > len(mains):
        one = len(mains) == 1
        words = (
            f"{' and '.join(mains)} {'speaks, because it covers' if one else 'speak, because they cover'} most ground; "
        )
        words += "the others lean on the same runs and are no further proof."
        if not one:
            words += f" They are {len(mains)} questions: each p is adjusted for the number of setups, not for these."
        said.append(words)
    return said


def grounds_of(compared: Compared) -> list[str]:
    """What each verdict of the measures that speak rests on, and what could not be compared."""
    one = compared.comparison
    said = []
    for main in one.mains:
        for verdict in one.of(main):
            said.append((f"{main.key}: " if len(one.mains) > 1 else "") + ground_words(verdict))
        for key, p in one.any_differs:
            if key == main.key:
                said.append(f"{key}: whether any of the setups differs from another: p = {p_words(p)}")
    return said + [f"not compared: {refused}" for refused in one.not_compared]


def warnings_of(compared: Compared) -> list[str]:
    """What nobody can read off the numbers, each once."""
    one = compared.comparison
    return list(dict.fromkeys(w for main in one.mains for verdict in one.of(main) for w in verdict.warnings))


def ground_words(verdict: Verdict) -> str:
    """How the comparison was made and what went in beside the setup, in one sentence."""
    first, second = verdict.first, verdict.second
    said = [
        f"{second.setup} against {first.setup}: {len(second.values)} and {len(first.values)} runs, {verdict.method}, "
        f"{verdict.df:.1f} degrees of freedom, scatter {amount(verdict.sds[0], verdict.measure.unit)} and "
        f"{amount(verdict.sds[1], verdict.measure.unit)}"
    ]
    said += slope_words(verdict, verdict.measure)
    if words := exact_words(verdict):
        said.append(words)
    if verdict.comparisons > 1:
        said.append(f"p adjusted after Holm for {verdict.comparisons} setups")
    if verdict.clock_limited:
        said.append("the clock's own +/- is wider than the scatter and is taken in its place")
    said += [f"{name} was written down and left out: {why}" for name, why in verdict.design.left_out]
    return "; ".join(said)


def run_rows(compared: Compared) -> list[tuple[str, ...]]:
    """Every run as a row of words, the headings first; the last column says what was dropped, and why."""
    one = compared.comparison
    shown = [measure for measure in one.measures if any(measure.key in run.measures for run in one.runs)]
    rows = [("setup", "run", *(measure.key for measure in shown), "direction", "day", "order", "")]
    for setup in one.setups:
        for run in (run for run in one.runs if run.setup == setup):
            rows.append((setup, run.name, *(_cell(run, measure) for measure in shown), *_where(run)))
    return rows


def _cell(run: Run, measure: Measure) -> str:
    value = run.measures.get(measure.key)
    if value is None:
        return "-"
    spread = "" if value.plus_minus is None else f" ±{plain(value.plus_minus)}"
    like = value.plus_minus or value.step
    return (plain(value.value, 10.0 * like) if like else f"{value.value:.4g}") + spread


def _where(run: Run) -> tuple[str, str, str, str]:
    order = "" if run.order is None else f"{run.order:g}"
    return run.direction, run.day, order, f"dropped: {run.dropped}" if run.dropped else ""


def _columns(rows: Sequence[tuple[str, ...]]) -> Iterator[str]:
    kept = [i for i in range(len(rows[0])) if i < 2 or any(row[i] for row in rows[1:])]
    widths = {i: max(len(row[i]) for row in rows) for i in kept}
    for row in rows:
        yield ("  " + "  ".join(row[i].ljust(widths[i]) for i in kept)).rstrip()
