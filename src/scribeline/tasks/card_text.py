"""The engine card as plain text for a terminal or a file: warnings first, then the numbers, then what to know."""

import textwrap
from collections.abc import Iterator

from scribeline.geometry.work_out import WorkedOut
from scribeline.sources import source
from scribeline.tasks.card import EngineCard, agreement_text, by_usual_plus_minus
from scribeline.units import Units, show_in, with_inches

WIDTH = 100
LABEL_WIDTH = 66


def card_text(card: EngineCard, units: Units = "mm") -> str:
    """The card, at most WIDTH characters wide. units : what lengths are written in"""
    out = card.out
    lines = [*_title(out), ""]
    lines += _warnings(card, units)
    lines += _numbers(out, units)
    lines += _agreements(out, units)
    lines += _assumed(out, units)
    lines += ["CAUTIONS"]
    for caution in card.cautions:
        lines += _item("*", with_inches(caution.text, units))
    return "\n".join(lines)


def _title(out: WorkedOut) -> list[str]:
    record = out.record
    name = f"{record.name}{' (INVENTED, for demonstration)' if record.invented else ''}"
    covers = "+/- covers about 95 %, from your readings' own +/-" if out.draws else "without +/-"
    return [*textwrap.wrap(name, WIDTH), f"worked out at {record.speed_rpm:g} rpm; {covers}"]


def _item(mark: str, text: str, indent: int = 2) -> list[str]:
    lead = " " * indent + mark + " "
    return textwrap.wrap(text, WIDTH, initial_indent=lead, subsequent_indent=" " * len(lead))


def _warnings(card: EngineCard, units: Units) -> list[str]:
    said = [line for statement in card.statements for line in _item("!", with_inches(statement.text, units), 0)]
    missing = _item("~", with_inches(card.not_held, units)) if card.not_held else []
    if not card.warnings:
        return [*said, "No common-practice limit is passed.", *missing, ""]
    lines = [*said, "WARNINGS"]
    for warning in card.warnings:
        lines += _item("!", with_inches(f"{warning.message} [{source(warning.source).kind}]", units))
        lines += _item(">", with_inches(f"{warning.remedy[0].upper()}{warning.remedy[1:]}.", units), indent=4)
    return [*lines, *missing, ""]


def _numbers(out: WorkedOut, units: Units) -> Iterator[str]:
    topic = None
    for worked in out.values.values():
        if worked.inner:
            continue
        if worked.topic != topic:
            if topic is not None:
                yield ""
            topic = worked.topic
            yield topic.upper()
        *above, last = textwrap.wrap(worked.label, LABEL_WIDTH)
        yield from (f"  {line}" for line in above)
        if worked.value is None:
            yield from [f"  {last}", *_item("none:", worked.why_absent, indent=4)]
        else:
            number = show_in(worked.value, worked.unit, worked.plus_minus, units)
            yield f"  {last:<{LABEL_WIDTH}} {number:>{WIDTH - LABEL_WIDTH - 3}}"
    yield ""


def _agreements(out: WorkedOut, units: Units) -> Iterator[str]:
    if out.agreements:
        yield "MEASURED TWICE"
        for agreement in out.agreements:
            yield from _item("=" if agreement.agree else "!", agreement_text(out, agreement, units) + ".")
        yield ""


def _assumed(out: WorkedOut, units: Units) -> Iterator[str]:
    yield "ASSUMED, BECAUSE NOBODY MEASURED IT"
    for assumption in (one for one in out.assumed.values() if not one.chosen):
        number = show_in(assumption.value, assumption.unit, assumption.plus_minus or None, units)
        yield from _item("-", f"{assumption.name} = {number}: {assumption.reason}")
    for width, places in by_usual_plus_minus(out, units).items():
        yield from _item("-", f"{width}: {', '.join(places)}")
    yield ""
