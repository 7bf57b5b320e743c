"""The numbers of the card under the questions that a builder asks, and what changed of each, in words."""

from collections.abc import Iterator
from dataclasses import dataclass
from fnmatch import fnmatchcase

from scribeline.geometry.work_out import WorkedOut
from scribeline.geometry.working import Worked
from scribeline.units import MM_PER_INCH, Units, show, show_in

# The first question with a pattern that a number's name fits is the one it answers.
_QUESTIONS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("ports", "What is each port like?", ("ports.*",)),
    (
        "timing",
        "When does it breathe?",
        (
            "exhaust_opens*", "exhaust_closes*", "exhaust_duration*", "exhaust_open_depth*", "exhaust_stagger*",
            "transfer_opens*", "transfer_closes*", "transfer_duration*", "transfer_open_depth*", "transfer_stagger*",
            "intake_opens*", "intake_closes*", "intake_duration*", "intake_travel*", "intake_open_depth*",
            "blowdown_deg", "blowdown_by*", "bdc_after_tdc_deg", "degree_wheel*",
        ),
    ),
    ("flow", "How much can flow, and for how long?",
     ("*_area_mm2_deg", "*time_area*", "intake_area*", "carburettor*", "reed*", "intake_*area*")),
    ("squeeze", "How hard is it squeezed?",
     ("*clearance_*", "compression_*", "trapped_*", "squish_*", "chamber_*", "*gasket*", "deck_*", "head_*")),
    ("strength", "Will it hold together?",
     ("piston_*", "mean_piston*", "*_land_mm", "*_stud_*", "highest_roof*", "exhaust_width*", "exhaust_open_under*",
      "intake_open_above*", "speed_over*", "speed_under*", "*ring*", "piston.*")),
    ("size", "How big is it?", ("displacement*", "swept*", "true_stroke*", "bore_*")),
    ("below", "What pumps below the piston?", ("crankcase*", "intake*", "tract*", "airbox*")),
    ("pipe", "What does the pipe do?", ("pipe*", "stinger*", "header*", "diffuser*", "baffle*", "belly*", "exhaust_*")),
    ("road", "How fast does that go on the road?", ("tyre*", "road*", "power_to*", "gear*", "*")),
)  # fmt: skip

TITLES: dict[str, str] = {key: title for key, title, _ in _QUESTIONS}

CHIEF = (
    ("exhaust_opens_deg_atdc", "exhaust opens"),
    ("exhaust_duration_deg", "exhaust open for"),
    ("transfer_duration_deg", "transfers open for"),
    ("blowdown_deg", "blowdown"),
    ("intake_duration_deg", "intake open for"),
    ("compression_ratio_trapped", "compression, exhaust shut"),
    ("squish_gap_mm", "squish gap"),
    ("displacement_cc", "displacement"),
)
"""What a builder looks at first."""

_SEEN = 2e-4  # of itself: a change below this is not said; judgement, far below every +/-
_ORDER = ("timing", "flow", "squeeze", "strength", "ports", "below", "pipe", "size", "road")


def question_of(name: str) -> str:
    """Which question a number answers.

    >>> question_of("blowdown_deg")
    'timing'
    """
    return next(key for key, _, patterns in _QUESTIONS if any(fnmatchcase(name, one) for one in patterns))


@dataclass(frozen=True)
class Number:
    """One number as it is read. change : against the engine as measured, in words; empty where it is the same."""

    name: str
    label: str
    text: str
    change: str
    inner: bool


@dataclass(frozen=True)
class Answer:
    """One question with its numbers, those of a port under its name."""

    key: str
    question: str
    numbers: tuple[tuple[str, tuple[Number, ...]], ...]

    @property
    def names(self) -> Iterator[str]:
        """Every number in it."""
        return (number.name for _, numbers in self.numbers for number in numbers)


def answers(now: WorkedOut, measured: WorkedOut, units: Units = "mm") -> tuple[Answer, ...]:
    """Every number of the card under its question; a port's numbers stand together under the port's name.

    units : "inch" shows lengths in inches
    """
    found: dict[str, dict[str, list[Number]]] = {key: {} for key in _ORDER}
    ports = {port.name for port in now.record.ports}
    for worked in now.values.values():
        port = worked.name.split(".")[1] if worked.name.startswith("ports.") else ""
        number = number_as_read(worked, measured.values.get(worked.name), port, units)
        found[question_of(worked.name)].setdefault(port if port in ports else "", []).append(number)
    return tuple(
        Answer(key, TITLES[key], tuple((port, tuple(some)) for port, some in by_port.items()))
        for key, by_port in found.items()
        if by_port
    )


def number_as_read(now: Worked, measured: Worked | None, port: str = "", units: Units = "mm") -> Number:
    """A number with its change in words; arguments as for `answers`."""
    label = capital(now.label.removeprefix(f"{port}: ") if port else now.label)
    text = "none" if now.value is None else show_in(now.value, now.unit, now.plus_minus, units)
    if now.value is not None and now.plus_minus is None:  # until its +/- is there it claims no more than most carry
        text = show_in(float(f"{now.value:.4g}"), now.unit, None, units)
    return Number(now.name, label, text, change_in_words(now, measured, units), now.inner)


def change_in_words(now: Worked, measured: Worked | None, units: Units = "mm") -> str:
    """How a number differs from the engine as measured: "1.3° earlier", "12 mm² more"; empty where it does not.

    As many digits as the number itself is shown with, but never so few that the change is lost.
    """
    before = measured.value if measured is not None else None
    if now.value is None or before is None:
        return "" if now.value == before else "as measured: none" if before is None else "gone"
    by = now.value - before
    if abs(by) <= _SEEN * max(abs(before), abs(now.value)) or by == 0.0:
        return ""
    more, less = _ways(now)
    by = (by + 180.0) % 360.0 - 180.0 if now.name.endswith(("opens_deg_atdc", "closes_deg_atdc")) else by
    return f"{rounded_to_two(abs(by), now.unit, units)} {more if by > 0 else less}"


def rounded_to_two(size: float, unit: str, units: Units = "mm") -> str:
    """A size with two significant digits, as a change or a share of a +/- is told.

    >>> rounded_to_two(0.1274, "mm"), rounded_to_two(0.1274, "mm", "inch")
    ('0.13 mm', '0.005 in')
    """
    size, unit = (size / float(MM_PER_INCH), "in") if units == "inch" and unit == "mm" else (size, unit)
    return show(float(f"{size:.2g}"), unit)


def _ways(worked: Worked) -> tuple[str, str]:
    """Words for a number that grew, and for one that shrank."""
    if worked.name.endswith(("opens_deg_atdc", "closes_deg_atdc")):
        return "later", "earlier"
    if "_depth_mm" in worked.name:
        return "lower", "higher"
    return ("longer", "shorter") if "duration" in worked.name else ("more", "less")


def plain(text: str) -> str:
    """A number as `units.show` writes it, without its +/-.

    >>> plain("28.10 ± 0.10 mm"), plain("88.02° ± 0.26°"), plain("5.87 ± 0.10")
    ('28.10 mm', '88.02°', '5.87')
    """
    value, mark, width = text.partition(" ± ")
    unit = width.partition(" ")[2] if mark else ""
    return f"{value} {unit}" if unit and value[-1].isdecimal() else value


def within(text: str) -> str:
    """The +/- of a number as `units.show` writes it; empty where it has none.

    >>> within("28.10 ± 0.10 mm")
    '± 0.10'
    """
    _, mark, width = text.partition(" ± ")
    return f"± {width.partition(' ')[0]}" if mark else ""


def capital(words: str) -> str:
    """The first letter large, the others as they are."""
    return words[:1].upper() + words[1:]
