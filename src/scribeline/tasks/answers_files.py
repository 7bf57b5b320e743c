"""Answers for programs that are pages, pictures or tables, and those from photographs and recordings."""

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from scribeline.engine import read_record
from scribeline.errors import TrialError
from scribeline.tasks.answers import finite
from scribeline.tasks.answers_made import Made, laid_down, made, zipped

Tell = Callable[[Any], None]
Stopped = Callable[[], bool]


def card_as(record_toml: str, origin: str, asked: Mapping[str, Any], *, tell: Tell, stopped: Stopped) -> str | Made:
    """The engine card, with limits and speed of one's own: everything, a page, or the working of some numbers."""
    from scribeline.tasks.card import card_json, engine_card_of_file, explain
    from scribeline.tasks.card_page import card_page
    from scribeline.tasks.card_text import card_text

    read_record(record_toml, origin)
    with laid_down({"engine": record_toml, "limits": asked["limits_toml"]}) as folder:
        limits = folder / "limits" if asked["limits_toml"] is not None else None
        card = engine_card_of_file(
            folder / "engine", speed_rpm=asked["speed_rpm"], plus_minus=asked["plus_minus"], limits=limits
        )
    if asked["explain"]:
        return json.dumps({name: explain(card, name, asked["units"]) for name in asked["explain"]}, ensure_ascii=False)
    match asked["form"]:
        case "page":
            return made(card_page(card, asked["units"]), "card.html")
        case "text":
            return made(card_text(card, asked["units"]), "card.txt")
    return card_json(card)


def check(record_toml: str, *, tell: Tell, stopped: Stopped) -> str:
    """Whether a record is sound, in one sentence; RecordError with every reason where it is not."""
    from scribeline.tasks.records import check_record

    with laid_down({"the record": record_toml}) as folder:
        said = check_record(folder / "the record").replace(f"{folder}/", "")
    return json.dumps({"sound": True, "words": said}, ensure_ascii=False)


def build_card(
    record_toml: str, origin: str, plan_toml: str | None, after: tuple[str, str] | None, form: str,
    looks: Mapping[str, bool], *, tell: Tell, stopped: Stopped,
) -> Made:  # fmt: skip
    """The picture of an engine before and after. looks : square, dark, transparent"""
    from scribeline.tasks.build_card import write_build_card

    read_record(record_toml, origin)
    texts = {"engine.toml": record_toml, "plan.toml": plan_toml, "after.toml": after[0] if after else None}
    with laid_down(texts) as folder:
        picture = write_build_card(
            folder / "engine.toml", folder / f"build-card.{form}",
            plan=folder / "plan.toml" if plan_toml is not None else None,
            after=folder / "after.toml" if after else None, square=looks["square"], dark=looks["dark"],
            transparent=looks["transparent"],
        )  # fmt: skip
        return made(picture.read_bytes(), picture.name)


def rubbing(
    photograph: Path, record_toml: str, origin: str, asked: Mapping[str, Any], *, tell: Tell, stopped: Stopped
) -> str | Made:
    """Ports measured on a photograph of a rubbing: the outlines, a picture of them, or the record with them."""
    from scribeline.tasks import rubbing_files as tasks

    read_record(record_toml, origin)
    names = tasks.names_of(asked["port"])
    scan = tasks.scan_marks(asked["deck"], asked["middle"], asked["ruler"])
    printed = tasks.printed(asked["bar_along"], asked["bar_down"])
    with laid_down({"engine.toml": record_toml}) as folder:
        found = tasks.measure_rubbing(
            photograph, folder / "engine.toml", paper_mm=asked["thickness_mm"], printed=printed, scan=scan
        )
        match asked["form"]:
            case "svg" | "png" as kind:
                tasks.write_overlay(found, folder / f"outlines.{kind}")
                return made((folder / f"outlines.{kind}").read_bytes(), f"outlines.{kind}")
            case "record":
                target = folder / "engine with ports.toml"
                tasks.write_ports(found, target, names, replace=asked["replace"], accept=asked["accept"])
                return made(target.read_bytes(), "engine-with-ports.toml")
    return tasks.rubbing_json(found)


def coast_down(
    out: Sequence[Path], back: Sequence[Path], mass_kg: float, air: str | None, *, tell: Tell, stopped: Stopped
) -> str:
    """Rolling and air drag from recordings of roll-outs."""
    from scribeline.tasks.coasting import coast_files, coast_text

    found = coast_files(out, back, mass_kg, air)
    document = {
        "rolling_n": found.found.f0_n, "rolling_plus_minus_n": found.found.f0_pm_n,
        "drag_n_s2_per_m2": found.found.f2_n_s2_m2, "drag_plus_minus_n_s2_per_m2": found.found.f2_pm_n_s2_m2,
        "rolling_resistance": found.found.rolling_resistance(),
        "drag_area_m2": found.found.drag_area_m2(found.density_kg_m3), "air_density_kg_per_m3": found.density_kg_m3,
        "wind_m_per_s": found.found.wind_m_s, "grade": found.found.grade, "scatter_m_per_s": found.found.sd_m_s,
        "roll_outs": [{"from_s": start, "to_s": end} for _, start, end in found.stretches],
        "words": coast_text(found), "cautions": [one.text for one in found.cautions],
    }  # fmt: skip
    return json.dumps(finite(document), ensure_ascii=False)


def comparison(asked: Mapping[str, Any], where: Any, *, tell: Tell, stopped: Stopped) -> str | Made:
    """Trials of the notebook against each other; names of files are not taken. With `predict`, what was foretold."""
    from scribeline.tasks.prediction_drawings import prediction_drawings
    from scribeline.tasks.trial_prediction import predicted_beside, prediction_json
    from scribeline.tasks.trials import list_trials
    from scribeline.tasks.verdict_drawings import verdict_drawings
    from scribeline.tasks.verdict_files import picture, verdict_csv, verdict_json, verdict_xlsx
    from scribeline.tasks.verdict_text import verdict_text
    from scribeline.tasks.verdicts import compare_named

    known = {summary.trial.name.casefold() for summary in list_trials(where=where)}
    unknown = [name for name in asked["trials"] if name.casefold() not in known]
    if unknown or not asked["trials"]:
        raise TrialError(
            f"no such trial: {', '.join(unknown) or 'none was named'}\n    accepted: names of trials in this notebook\n"
            "    what to do: ask for the list of trials"
        )
    compared = compare_named(
        asked["trials"], setups=asked["setups"], leave_out=asked["without"], measure=asked["measure"],
        correction=asked["correct"], where=where,
    )  # fmt: skip

    def progress(done: int, count: int) -> bool:
        tell({"doing": "what each build was to do", "done": done, "of": count})
        return stopped()

    predicted = [predicted_beside(one, progress=progress) for one in compared.trials] if asked["predict"] else []
    match asked["form"]:
        case "text":
            return made(verdict_text(compared), "verdict.txt")
        case "csv":
            return made(verdict_csv(compared), "verdict.csv")
        case "xlsx":
            return made(verdict_xlsx(compared), "verdict.xlsx")
        case "svg" | "png" as kind:
            drawings = [*verdict_drawings(compared), *prediction_drawings(compared, predicted)]
            named = {f"{number}-{one.name}.{kind}": one for number, one in enumerate(drawings, start=1)}
            pictures = {name: picture(one, f".{kind}", transparent=asked["transparent"]) for name, one in named.items()}
            return zipped(pictures, "verdict.zip")
    return verdict_json(compared, [prediction_json(*one) for one in predicted])


def two_revisions(
    build: str, before: int, after: int, form: str, where: Any, *, tell: Tell, stopped: Stopped
) -> str | Made:
    """Two revisions laid beside each other: what differs and what follows, or drawings of both."""
    from scribeline.tasks.history_compare import compare_two, write_overlaid
    from scribeline.tasks.ledger_text import two_text

    two = compare_two(build, before, after, where=where)
    if form == "text":
        return made(two_text(two), "two-revisions.txt")
    if form == "svg":
        with laid_down({}) as folder:
            said = "\n".join(write_overlaid(two, folder)).replace(f"{folder.resolve()}/", "")
            files = {file.name: file.read_bytes() for file in sorted(folder.glob("*.svg"))}
            return zipped({**files, "drawn.txt": said.encode()}, "two-revisions.zip")
    document = {
        "before": before,
        "after": after,
        "differences": [asdict(one) for one in two.differences],
        "moved": [asdict(one) for one in two.moved],
    }
    return json.dumps(finite(document), default=str, ensure_ascii=False)


def history(build: str, form: str, where: Any, *, tell: Tell, stopped: Stopped) -> str | Made:
    """What happened to a build, in order of time; as a drawing, or as the page for the next builder."""
    from scribeline.tasks.history import timeline, timeline_drawing
    from scribeline.tasks.ledger_text import timeline_text
    from scribeline.tasks.lessons_page import lessons_page_of
    from scribeline.tasks.verdict_files import picture

    if form == "page":
        return made(lessons_page_of(build, where=where), "lessons.html")
    found = timeline(build, where=where)
    if form == "text":
        return made(timeline_text(found), "history.txt")
    if form in ("svg", "png"):
        return made(picture(timeline_drawing(found), f".{form}"), f"history.{form}")
    events = [asdict(one) | {"at": one.at.isoformat()} for one in found.events]
    return json.dumps({"build": found.build, "events": events}, ensure_ascii=False)


def ledger(build: str, form: str, where: Any, *, tell: Tell, stopped: Stopped) -> str | Made:
    """Predictions beside what was measured, and what they teach."""
    from scribeline.tasks.history import ledger_drawing
    from scribeline.tasks.ledger import ledger_of
    from scribeline.tasks.ledger_text import ledger_json, ledger_text
    from scribeline.tasks.verdict_files import picture

    found = ledger_of(build, where=where)
    if form == "text":
        return made(ledger_text(found), "ledger.txt")
    if form in ("svg", "png"):
        return made(picture(ledger_drawing(found), f".{form}"), f"ledger.{form}")
    return ledger_json(found)
