"""A pipe report as text for a terminal and as JSON: pipes beside each other, what each is tuned for, and why."""

import json
import math
import textwrap
from collections.abc import Callable, Iterator
from dataclasses import asdict
from typing import Any

from scribeline import __version__
from scribeline.cycle.simulate import CycleResult
from scribeline.geometry import tuned_length as guide
from scribeline.geometry.cones import frustum_pattern
from scribeline.geometry.pipe_design import (
    HEADER_SHARE,
    HEADER_TAPER_DEG,
    WAVE_SPEED_M_S,
)
from scribeline.geometry.pipe_pieces import PipeSection
from scribeline.sources import source
from scribeline.tasks.pipe import SOURCES, Candidate, PipeReport, formula_with_wave_rpm
from scribeline.tasks.pipe_record import fragment
from scribeline.units import Units, length_number, unit_of, with_inches

WIDTH = 100
_LABEL, _COLUMN = 52, 16
_NAMES = {"fitted": "fitted", "first": "by the rules", "refined": "refined"}


def pipe_text(report: PipeReport, units: Units = "mm") -> str:
    """The report, at most WIDTH characters wide. units : what lengths are written in; a record is in mm"""
    lines = [*_title(report), "", *_heading(report), *_sections(report, units), "", *_tuned(report)]
    lines += _curves(report)
    if report.warnings:
        lines += ["", "WARNINGS"]
        for warning in report.warnings:
            lines += _item("!", with_inches(f"{warning.message} [{source(warning.source).kind}]", units))
            lines += _item(">", with_inches(f"{warning.remedy[0].upper()}{warning.remedy[1:]}.", units), indent=4)
    lines += ["", "TO KNOW"]
    for words in (*report.remarks, *_searched(report), *_rests_on(report)):
        lines += _item("-", with_inches(words, units))
    lines += ["", "RELIES ON", f"  {', '.join(_sources(report))}", "", "CAUTIONS"]
    for caution in report.cautions:
        lines += _item("*", with_inches(caution.text, units))
    if report.wanted is not None:
        lines += ["", "FOR THE RECORD (in place of its [[exhaust.sections]]; -o NEW.toml does it)", ""]
        lines += fragment(report.chosen.sections).splitlines()
    return "\n".join(lines)


def _title(report: PipeReport) -> Iterator[str]:
    record = report.record
    yield f"{record.name}{' (INVENTED, for demonstration)' if record.invented else ''}"
    how = "simulated, no engine was run" if report.build is not None else "by published rules alone, not simulated"
    if report.wanted is None or report.goal is None:
        yield f"what the fitted pipe is tuned for; {how}"
    else:
        goal = f", goal: {report.goal.words}" if report.build is not None else ""
        yield from textwrap.wrap(f"a pipe for {report.wanted.speed_rpm:g} rpm{goal}; {how}", WIDTH)


def _item(mark: str, text: str, indent: int = 2) -> list[str]:
    lead = " " * indent + mark + " "
    return textwrap.wrap(text, WIDTH, initial_indent=lead, subsequent_indent=" " * len(lead))


def _heading(report: PipeReport) -> Iterator[str]:
    yield " " * _LABEL + "".join(f"{_NAMES[one.name]:>{_COLUMN}}" for one in report.candidates)


def _row(report: PipeReport, label: str, of: Callable[[Candidate], str]) -> str:
    return f"  {label:<{_LABEL - 2}}" + "".join(f"{of(one):>{_COLUMN}}" for one in report.candidates)


def _sections(report: PipeReport, units: Units) -> Iterator[str]:
    """Every section of the candidates under each other, by its place in the pipe."""
    yield f"SECTIONS (inside diameter, length along the middle line, included angle; {unit_of(units)} and degrees)"
    names = list(dict.fromkeys(section.name for one in report.candidates for section in one.sections))
    order = {name: _place(report, name) for name in names}
    for name in sorted(names, key=lambda name: order[name]):
        yield _row(report, name, lambda one, name=name: _diameters(_of(one, name), units))  # type: ignore[misc]
        yield _row(report, "", lambda one, name=name: _length_and_angle(_of(one, name), units))  # type: ignore[misc]
    yield _row(report, "whole pipe, flange to open end", lambda one: length_number(one.length_mm, units, None))
    yield _row(
        report, "piston's face to the middle of the baffle",
        lambda one: "no baffle" if one.tuned_length_mm is None else length_number(one.tuned_length_mm, units, 1),
    )  # fmt: skip


def _place(report: PipeReport, name: str) -> float:
    """How far along its pipe a section of that name begins, as a share: the last pipe that has it decides."""
    for one in reversed(report.candidates):
        before = 0.0
        for section in one.sections:
            if section.name == name:
                return before / one.length_mm
            before += section.length_mm
    return math.inf


def _of(one: Candidate, name: str) -> PipeSection | None:
    return next((section for section in one.sections if section.name == name), None)


def _diameters(section: PipeSection | None, units: Units) -> str:
    if section is None:
        return "-"
    start, end = (length_number(one, units, None) for one in (section.start_mm, section.end_mm))
    return f"Ø{start}" if start == end else f"Ø{start} to Ø{end}"


def _length_and_angle(section: PipeSection | None, units: Units) -> str:
    if section is None:
        return ""
    long = length_number(section.length_mm, units, None)
    if section.start_mm == section.end_mm:
        return long
    taper = frustum_pattern(section.start_mm, section.end_mm, section.length_mm).included_angle_deg
    return f"{long}, {float(taper):.1f}°"


def _rpm(value: float | None) -> str:
    return "-" if value is None else f"{value:.0f}"


def _tuned(report: PipeReport) -> Iterator[str]:
    yield "TUNED FOR, rpm"
    yield _row(report, f"published formula, waves at {WAVE_SPEED_M_S:.0f} m/s", lambda one: _rpm(one.formula_rpm))
    if report.build is None:
        return
    rows: list[tuple[str, Callable[[Candidate], str]]] = [
        ("simulation: middle of the band above 90 % of best", lambda one: _of_tuned(one, "centre_rpm")),
        ("    that band", _band),
        ("simulation: best trapping in that band", lambda one: _of_tuned(one, "trapping_rpm")),
        ("simulation: most power", lambda one: _of_tuned(one, "best_rpm")),
        (
            "formula with the simulated gas's speed of sound",
            lambda one: _rpm(formula_with_wave_rpm(one, report.mounting)),
        ),
        ("    which is, m/s", lambda one: _rpm(one.wave_m_s)),
        ("most power, kW", lambda one: "-" if one.tuned is None else f"{one.tuned.best_w / 1e3:.2f}"),
    ]
    if report.goal is not None:
        rows.append(
            (f"{report.goal.words}, kW", lambda one: "-" if one.power_w is None else f"{one.power_w / 1e3:.2f}")
        )
    for label, of in rows:
        yield _row(report, label, of)


def _of_tuned(one: Candidate, name: str) -> str:
    return "-" if one.tuned is None else _rpm(getattr(one.tuned, name))


def _band(one: Candidate) -> str:
    if one.tuned is None:
        return "-"
    return f"{one.tuned.low_rpm:.0f} to {one.tuned.high_rpm:.0f}" + ("+" if one.tuned.open_ended else "")


def _curves(report: PipeReport) -> Iterator[str]:
    if report.build is None:
        return
    yield ""
    yield "POWER, kW"
    for i in range(0, len(report.speeds_rpm), 2):
        yield _row(report, f"{report.speeds_rpm[i]:>6.0f} rpm", lambda one, i=i: _power(one, i))  # type: ignore[misc]


def _power(one: Candidate, i: int) -> str:
    result = one.results[i] if i < len(one.results) else None
    return f"{result.power_w / 1e3:.2f}" if isinstance(result, CycleResult) else "none"


def _searched(report: PipeReport) -> Iterator[str]:
    if report.search is not None:
        failed = sum(one.failed for one in report.search.tried)
        yield (
            f"{len(report.search.tried)} pipes were simulated in {report.search.rounds} rounds of search around the "
            "first shape; it finds a good pipe near it, not the best there is."
            + (f" {failed} speeds came to no sound end and counted as no power." if failed else "")
        )
    if any(one.tuned and one.tuned.open_ended for one in report.candidates):
        yield "A band marked + goes on beyond the speeds that were simulated."


def _rests_on(report: PipeReport) -> Iterator[str]:
    yield (
        "The formula is that of a wave out and back while the exhaust is open (jennings-1973). Its speed of sound is "
        "an assumption: 2 % more moves the tuned speed up by 2 %."
    )
    if report.wanted is not None:
        yield (
            f"By the rules: diffuser {guide.DIFFUSER_TAPER.value:g}°, area ratio {guide.DIFFUSER_AREA_RATIO.value:g}, "
            f"baffle {guide.BAFFLE_TAPER.value:g}°, stinger {guide.STINGER_DIAMETER_RATIO.high:g} of the header and "
            f"{guide.STINGER_LENGTH_RATIO.value:g} times as long as wide (jennings-1973, to start from). The header, "
            f"{100 * HEADER_SHARE:.0f} % of the tuned length with the passage and {HEADER_TAPER_DEG:g}° wide, is "
            "judgement."
        )
        yield (
            "Lengths are rounded to 1 mm, diameters to 0.5 mm, the stinger's to 0.1 mm; the figures are those of the "
            "rounded pipe."
        )
    if report.build is not None:
        yield (
            "Everything that `scribeline curve` assumes is assumed here as well; pipe walls at "
            "600 K falling to 450 K above all: nobody measured them, and a hotter pipe moves every band up."
        )


def _sources(report: PipeReport) -> list[str]:
    return [key for key in SOURCES if key != "kolda-2003" or report.search is not None]


def pipe_json(report: PipeReport) -> str:
    """The report as one JSON document."""
    wanted = None
    if report.wanted is not None:
        wanted = {key: _finite(value) for key, value in asdict(report.wanted).items()}
    document: dict[str, Any] = {
        "scribeline": __version__,
        "engine": {"name": report.record.name, "invented": report.record.invented, "note": report.record.note},
        "wanted": wanted,
        "goal": None
        if report.goal is None
        else {"words": report.goal.words, "speeds_rpm": list(report.goal.speeds_rpm)},
        "exhaust_duration_deg": report.mounting.duration_deg,
        "passage_mm": report.mounting.passage_mm if report.mounting.passage_known else None,
        "wave_speed_assumed_m_s": WAVE_SPEED_M_S,
        "pipes": [_candidate_json(report, one) for one in report.candidates],
        "chosen": report.chosen.name,
        "search": None
        if report.search is None
        else {
            "pipes": len(report.search.tried),
            "rounds": report.search.rounds,
            "stopped": report.search.stopped,
        },
        "warnings": [asdict(one) for one in report.warnings],
        "remarks": list(report.remarks),
        "assumed": [vars(one) for one in report.build.taken] if report.build else [],
        "left_out": list(report.build.left_out) if report.build else [],
        "sources": _sources(report),
        "cautions": [caution.text for caution in report.cautions],
    }
    return json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False)


def _candidate_json(report: PipeReport, one: Candidate) -> dict[str, Any]:
    return {
        "name": one.name,
        "sections": [asdict(section) for section in one.sections],
        "length_mm": one.length_mm,
        "tuned_length_mm": one.tuned_length_mm,
        "tuned_for_rpm": {
            "formula": one.formula_rpm,
            "formula_with_simulated_speed_of_sound": formula_with_wave_rpm(one, report.mounting),
            "simulation": None if one.tuned is None else asdict(one.tuned),
        },
        "wave_speed_simulated_m_s": one.wave_m_s,
        "goal_power_kw": None if one.power_w is None else one.power_w / 1e3,
        "curve": [
            {"speed_rpm": rpm, "power_kw": result.power_w / 1e3, "trapping_efficiency": result.trapping_efficiency}
            if isinstance(result, CycleResult)
            else {"speed_rpm": rpm, "why_not": str(result)}
            for rpm, result in zip(report.speeds_rpm, one.results, strict=False)
        ],
    }


def _finite(value: Any) -> Any:
    return None if isinstance(value, float) and not math.isfinite(value) else value
