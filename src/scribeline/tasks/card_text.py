"""The engine card as plain text for a terminal or a file: warnings first, then the numbers, then what to know."""

import textwrap
from collections.abc import Iterator

from scribeline.geometry.work_out import WorkedOut
from scribeline.sources import source
from scribeline.tasks.card import EngineCard, agreement_text, by_usual_plus_minus
from scribeline.units import show

WIDTH = 100
LABEL_WIDTH = 66


def card_text(card: EngineCard) -> str:
    """The card, at most WIDTH characters wide."""
    out = card.out
    lines = [*_title(out), ""]
    lines += _warnings(card)
    lines += _numbers(out)
    lines += _agreements(out)
    lines += _assumed(out)
    lines += ["CAUTIONS"]
    for caution in card.cautions:
        lines += _item("*", caution.text)
    return "\n".join(lines)


def _title(out: WorkedOut) -> list[str]:
    record = out.record
    name = f"{record.name}{' (INVENTED, for demonstration)' if record.invented else ''}"
    covers = "+/- covers about 95 %, from your readings' own +/-" if out.draws else "without +/-"
    return [*textwrap.wrap(name, WIDTH), f"worked out at {record.speed_rpm:g} rpm; {covers}"]


def _item(mark: str, text: str, indent: int = 2) -> list[str]:
    lead = " " * indent + mark + " "
    return textwrap.wrap(text, WIDTH, initial_indent=lead, subsequent_indent=" " * len(lead))


def _warnings(card: EngineCard) -> list[str]:
    said = [line for statement in card.statements for line in _item("!", statement.text, 0)]
    missing = _item("~", card.not_held) if card.not_held else []
    if not card.warnings:
        return [*said, "No common-practice limit is passed.", *missing, ""]
    lines = [*said, "WARNINGS"]
    for warning in card.warnings:
        lines += _item("!", f"{warning.message} [{source(warning.source).kind}]")
        lines += _item(">", warning.remedy[0].upper() + warning.remedy[1:] + ".", indent=4)
    return [*lines, *missing, ""]


def _numbers(out: WorkedOut) -> Iterator[str]:
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
            number = show(worked.value, worked.unit, worked.plus_minus)
            yield f"  {last:<{LABEL_WIDTH}} {number:>{WIDTH - LABEL_WIDTH - 3}}"
    yield ""


def _agreements(out: WorkedOut) -> Iterator[str]:
    if out.agreements:
        yield "MEASURED TWICE"
        for agreement in out.agreements:
            yield from _item("=" if agreement.agree else "!", agreement_text(out, agreement) + ".")
        yield ""


def _assumed(out: WorkedOut) -> Iterator[str]:
    yield "ASSUMED, BECAUSE NOBODY MEASURED IT"
    for assumption in (one for one in out.assumed.values() if not one.chosen):
        number = show(assumption.value, assumption.unit, assumption.plus_minus or None)
        yield from _item("-", f"{assumption.name} = {number}: {assumption.reason}")
    for width, places in by_usual_plus_minus(out).items():
        yield from _item("-", f"{width}: {', '.join(places)}")
    yield ""
