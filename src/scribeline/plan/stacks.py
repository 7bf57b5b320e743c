"""Gaskets and decking: every stack from the builder's box, and the least metal to take off with each.

All stacks are enumerated, none is guessed at. Fitting a stack moves head and crown apart by its change of thickness;
a cut of c brings them together by c wherever it is made: off the barrel's top, off the head's face or off the barrel's
foot. So for each stack the least cut has a closed form:

    c = max(0, M + s + wM − high)          M, m   mean and tightest squish gap now
    possible where m + s − c − wm >= low   s      change of the stack's thickness
                                           wM, wm the +/- of the two gaps after it, all sources of it together

Where the cut is made decides what else moves: top and head leave every port where it is, the foot lowers them all.
Geometry only; see `scribeline.geometry.refit` for what moves with it.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from math import hypot, isnan, nan, pi, prod
from typing import Literal

import numpy as np
from scipy.special import ndtr

from scribeline.engine import COVERAGE_FACTOR, EngineRecord, GasketSheet
from scribeline.errors import SearchError
from scribeline.geometry.refit import compressed_mm
from scribeline.geometry.work_out import WorkedOut
from scribeline.geometry.working import FloatArray
from scribeline.plan.box import Box
from scribeline.plan.limit_table import LimitTable
from scribeline.plan.limits import limits
from scribeline.plan.operations.gaskets import JOIN, NONE, at_hand
from scribeline.plan.steps import Step

Side = Literal["base", "head"]
SIDES: tuple[Side, ...] = ("base", "head")
FITTED = "fitted "
Place = Literal["deck barrel top", "face head", "deck barrel base"]
"""Where metal may come off, by the key of its operation."""
PLACES: tuple[Place, ...] = ("deck barrel top", "face head", "deck barrel base")
MOST_STACKS = 200_000
MOST_OFF_MM = 1.5
"""Most metal to take off one face. Judgement, no source: port, chamber and sealing face all move with it."""
CUT_PLUS_MINUS_MM = 0.03
"""+/- of a face taken down on abrasive paper or a lathe and measured with a depth gauge. Judgement, no source."""


@dataclass(frozen=True)
class GapRange:
    """What is asked of the squish gap: low for its tightest place, high for its mean, mm."""

    low_mm: float
    high_mm: float


def usual_range() -> GapRange:
    """The range of `limits`."""
    by_name = {limit.name: limit for limit in limits()}
    low, high = by_name["squish_gap_min_mm"].low, by_name["squish_gap_mm"].high
    assert low is not None
    assert high is not None
    return GapRange(low, high)


def range_of(table: LimitTable | None) -> GapRange:
    """The range as the builder set it. A limit that is off still says what to aim at: the usual bound stands in."""
    usual, own = usual_range(), {one.name: one for one in (table or LimitTable()).set}
    low, high = own.get("squish_gap_min_mm"), own.get("squish_gap_mm")
    asked = GapRange(
        usual.low_mm if low is None or low.low is None else low.low,
        usual.high_mm if high is None or high.high is None else high.high,
    )
    return asked if asked.low_mm < asked.high_mm else usual


@dataclass(frozen=True)
class Squish:
    """The squish gap as it is: mean and tightest place, their +/-, and draws of both together, mm."""

    mean_mm: float
    tightest_mm: float
    mean_plus_minus_mm: float
    tightest_plus_minus_mm: float
    mean_draws_mm: FloatArray
    tightest_draws_mm: FloatArray


@dataclass(frozen=True)
class Stack:
    """One choice of gaskets with the least metal that puts the gap in range.

    lift_mm : how much thicker than today, base and head together
    cut_mm : metal to take off, 0 where none is needed
    chance_outside : that a gap made so lies outside the range, 0 to 1
    clearance_cc, compression, trapped : volume above the piston afterwards, compression ratio of the whole stroke and
        from exhaust closing on; nan where the record does not give them. The last is for a cut that leaves the ports
        where they are, where one is allowed
    base, head : names of the sheets, "fitted 1" and so on for those of today
    """

    base: tuple[str, ...]
    head: tuple[str, ...]
    base_lift_mm: float
    head_lift_mm: float
    cut_mm: float
    mean_mm: float
    tightest_mm: float
    mean_plus_minus_mm: float
    tightest_plus_minus_mm: float
    chance_outside: float
    clearance_cc: float
    compression: float
    trapped: float

    @property
    def lift_mm(self) -> float:
        return self.base_lift_mm + self.head_lift_mm

    @property
    def reused(self) -> tuple[str, ...]:
        """Sheets of today that are fitted again beside others: measure them, they may not seal twice."""
        return tuple(
            name
            for stack in (self.base, self.head)
            if any(not one.startswith(FITTED) for one in stack)
            for name in stack
            if name.startswith(FITTED)
        )

    def steps(self, place: Place, today: EngineRecord) -> tuple[Step, ...]:
        """The steps that make it: gaskets that change, and the cut where one is needed."""
        steps = []
        for side, names in zip(SIDES, (self.base, self.head), strict=True):
            if Counter(names) != Counter(fitted(today, side)):
                steps.append(Step(f"swap {side} gasket", choice=JOIN.join(names) or NONE))
        if self.cut_mm > 0.0:
            steps.append(Step(place, amount=round(self.cut_mm, 6)))
        return tuple(steps)


@dataclass(frozen=True)
class Relaxation:
    """The least that one limit would have to give, with the stack it is for. limit: "low", "high" or "cut"."""

    limit: Literal["low", "high", "cut"]
    by_mm: float
    base: tuple[str, ...]
    head: tuple[str, ...]
    words: str


@dataclass(frozen=True)
class Stacks:
    """Every stack that works, least metal first; `tried` counts all of them.

    relaxations : where none works, what would have to give, the smallest first; empty otherwise
    """

    asked: GapRange
    found: tuple[Stack, ...]
    tried: int
    relaxations: tuple[Relaxation, ...] = ()
    places: tuple[Place, ...] = PLACES

    @property
    def by_compression(self) -> tuple[Stack, ...]:
        """The same stacks, highest compression from exhaust closing first; of two alike the one with less metal off."""

        def key(one: Stack) -> tuple[float, float, float, tuple[int, int, tuple[str, ...], tuple[str, ...]]]:
            trapped = 0.0 if isnan(one.trapped) else -round(one.trapped, 9)
            return trapped, round(one.mean_mm, 9), one.cut_mm, _sheets(one)

        return tuple(sorted(self.found, key=key))

    def why_not(self) -> str:
        """Which limits conflict, by how much, and the smallest relaxation; nothing where a stack works."""
        if self.found:
            return ""
        lines = [
            f"none of {self.tried} stacks puts the squish gap between {self.asked.low_mm:g} and "
            f"{self.asked.high_mm:g} mm with its +/-"
        ]
        return "\n".join([*lines, *(f"    would do: {one.words}" for one in self.relaxations)])


def squish_of(out: WorkedOut) -> Squish:
    """The gap as measured. Raises SearchError where the record does not tell it; `out` needs draws for a +/-."""
    mean = out.values.get("squish_gap_mm")
    if mean is None or mean.value is None:
        raise SearchError(
            "no squish gap in the record\n    accepted: solder readings, or deck clearance, head gasket and band recess"
            "\n    what to do: squeeze solder at two places opposite each other, better four"
        )
    tight = out.values.get("squish_gap_min_mm")
    tightest = tight if tight is not None and tight.value is not None else mean
    assert tightest.value is not None
    return Squish(
        mean.value,
        tightest.value,
        mean.plus_minus or 0.0,
        tightest.plus_minus or 0.0,
        out.samples[mean.name][1:],
        out.samples[tightest.name][1:],
    )


def solve(
    out: WorkedOut,
    box: Box,
    *,
    asked: GapRange | None = None,
    places: Sequence[Place] = PLACES,
    most_off_mm: float = MOST_OFF_MM,
    bare: Sequence[Side] = (),
    cut_plus_minus_mm: float = CUT_PLUS_MINUS_MM,
) -> Stacks:
    """Every stack from the box and today's sheets, with the least metal to take off one of the places.

    out : the record worked out, with draws for the +/-; places : where metal may come off, empty for nowhere
    most_off_mm : most metal to take off; bare : sides that may also go without any gasket, as with a sealing ring
    cut_plus_minus_mm : +/- of a cut, counted only where one is made
    Raises SearchError for a record without squish gap and for a box with more than MOST_STACKS stacks.
    """
    record, now = out.record, squish_of(out)
    asked = asked or usual_range()
    most = most_off_mm if places else 0.0
    piles = [at_hand(record, side, box) for side in SIDES]
    count = prod(prod(number + 1 for _, number in pile.values()) for pile in piles)
    if count > MOST_STACKS:
        raise SearchError(
            f"the box allows {count} stacks\n    accepted: at most {MOST_STACKS}\n    what to do: leave out sheets you "
            "would not fit, or lower their counts"
        )
    sides = [_stacks_of(record, pile, side, side in bare) for pile, side in zip(piles, SIDES, strict=True)]
    both = {one.name: one.count for one in box.gaskets if one.fits == "both"}
    tried = 0
    clearance = out.values["clearance_volume_cc"].value
    swept = out.values["swept_volume_cc"].value
    assert swept is not None
    closes = out.values.get("exhaust_open_depth_mm")
    closes_mm = nan if closes is None or closes.value is None else closes.value
    sinks = not set(places) - {"deck barrel base"}  # only the foot may be cut: the ports come down with it
    area_cc_mm = pi / 4 * record.cylinder.bore_mm.value**2 / 1000.0
    found: list[Stack] = []
    near: list[Relaxation] = []
    for (base, base_lift, base_width), (head, head_lift, head_width) in product(*sides):
        if both and any(base.count(name) + head.count(name) > count for name, count in both.items()):
            continue
        tried += 1
        lift, width = base_lift + head_lift, hypot(base_width, head_width)
        wide = hypot(now.mean_plus_minus_mm, width)
        cut = now.mean_mm + lift + wide - asked.high_mm
        if cut > 0.0:
            width = hypot(width, cut_plus_minus_mm)
            wide = hypot(now.mean_plus_minus_mm, width)
            cut = now.mean_mm + lift + wide - asked.high_mm
        cut = max(cut, 0.0)
        tight = hypot(now.tightest_plus_minus_mm, width)
        most_for_low = now.tightest_mm + lift - tight - asked.low_mm
        if cut > min(most, most_for_low) + 1e-12:
            near += _relaxations(asked, base, head, cut, most, most_for_low)
            continue
        shift = lift - cut
        volume = nan if clearance is None else clearance + area_cc_mm * shift
        found.append(
            Stack(
                base,
                head,
                base_lift,
                head_lift,
                cut,
                now.mean_mm + shift,
                now.tightest_mm + shift,
                wide,
                tight,
                chance_outside(now, asked, shift, width),
                volume,
                1.0 + swept / volume,
                1.0 + area_cc_mm * (closes_mm - base_lift + (cut if sinks else 0.0)) / volume,
            )
        )
    found.sort(key=lambda one: (round(one.cut_mm, 9), one.chance_outside, _sheets(one)))
    return Stacks(asked, tuple(found), tried, () if found else _smallest(near), tuple(places))


def chance_outside(now: Squish, asked: GapRange, shift_mm: float, width_mm: float) -> float:
    """Chance that tightest place or mean lie outside the range, the gaps moved by shift_mm ± width_mm; 0 to 1.

    Of each draw of the two gaps the chance is that of a normal step (its +/- is COVERAGE_FACTOR standard deviations),
    exactly; the result is their mean. nan without draws.
    """
    if now.mean_draws_mm.size == 0:
        return nan
    to_low = asked.low_mm - now.tightest_draws_mm - shift_mm
    to_high = asked.high_mm - now.mean_draws_mm - shift_mm
    if width_mm < 1e-9:  # not a step at all
        return float(np.mean((to_low > 0.0) | (to_high < 0.0)))
    sigma = width_mm / COVERAGE_FACTOR
    inside = ndtr(to_high / sigma) - ndtr(to_low / sigma)
    return float(1.0 - np.mean(np.maximum(inside, 0.0)))


def stack_words(names: Sequence[str]) -> str:
    """A stack in words, such as "2 x base 0.5 + fitted 1"; "none" where it is empty."""
    parts = (f"{number} x {name}" if number > 1 else name for name, number in Counter(names).items())
    return JOIN.join(parts) or "none"


def fitted(record: EngineRecord, side: Side) -> tuple[str, ...]:
    """Names of the sheets of today's stack."""
    return tuple(f"{FITTED}{number}" for number in range(1, len(getattr(record.gaskets, side)) + 1))


def difference_mm(new: Sequence[GasketSheet], old: Sequence[GasketSheet]) -> tuple[float, float]:
    """How much thicker the new stack is and its +/-, mm; a sheet that stays adds nothing to the +/-."""
    fitted, taken = Counter(new), Counter(old)
    changed = [*(fitted - taken).elements(), *(taken - fitted).elements()]
    width = hypot(*(_plus_minus(sheet) for sheet in changed)) if changed else 0.0
    return compressed_mm(tuple(new)) - compressed_mm(tuple(old)), width


def _stacks_of(
    record: EngineRecord, pile: Mapping[str, tuple[GasketSheet, int]], side: Side, bare: bool
) -> list[tuple[tuple[str, ...], float, float]]:
    """Every multiset of the sheets at hand, with its change of thickness and +/-.

    Without any sheet only where there is none today, or where the side may go bare.
    """
    today: tuple[GasketSheet, ...] = getattr(record.gaskets, side)
    stacks = []
    for counts in product(*(range(number + 1) for _, number in pile.values())):
        names = tuple(name for name, count in zip(pile, counts, strict=True) for _ in range(count))
        if names or not today or bare:
            stacks.append((names, *difference_mm([pile[name][0] for name in names], today)))
    return stacks


def _plus_minus(sheet: GasketSheet) -> float:
    key = "nominal_mm" if sheet.compressed_mm is None else "compressed_mm"
    spec = sheet.spec(key)
    assert spec is not None
    return float(getattr(sheet, key).resolved_plus_minus(spec))


def _sheets(stack: Stack) -> tuple[int, int, tuple[str, ...], tuple[str, ...]]:
    """Order of two that are otherwise alike: fewer new sheets, then fewer sheets, then by name."""
    new = sum(not name.startswith(FITTED) for name in stack.base + stack.head)
    return new, len(stack.base) + len(stack.head), stack.base, stack.head


def _relaxations(
    asked: GapRange,
    base: tuple[str, ...],
    head: tuple[str, ...],
    cut_mm: float,
    most_mm: float,
    most_for_low_mm: float,
) -> Iterator[Relaxation]:
    """What each limit alone would have to give for a stack that does not work; none where one alone is not enough."""
    which = f"base {stack_words(base)}, head {stack_words(head)}"
    if cut_mm <= most_mm:
        by = cut_mm - most_for_low_mm
        yield Relaxation(
            "low", by, base, head,
            f"a tightest gap down to {asked.low_mm - by:.2f} mm ({by:.2f} mm less), with {which}"
            + (f" and {cut_mm:.2f} mm off" if cut_mm > 0.0 else ""),
        )  # fmt: skip
    if most_for_low_mm >= 0.0:
        allowed = min(most_mm, most_for_low_mm)
        by = cut_mm - allowed
        yield Relaxation(
            "high", by, base, head,
            f"a mean gap up to {asked.high_mm + by:.2f} mm ({by:.2f} mm more), with {which}"
            + (f" and {allowed:.2f} mm off" if allowed > 0.0 else ""),
        )  # fmt: skip
    if cut_mm <= most_for_low_mm:
        yield Relaxation(
            "cut", cut_mm - most_mm, base, head,
            f"{cut_mm:.2f} mm of metal off where {most_mm:.2f} mm may come off, with {which}",
        )  # fmt: skip


def _smallest(near: Sequence[Relaxation]) -> tuple[Relaxation, ...]:
    """Of each limit the smallest that would do, smallest first."""
    best: dict[str, Relaxation] = {}
    for one in near:
        if one.limit not in best or one.by_mm < best[one.limit].by_mm - 1e-12:
            best[one.limit] = one
    return tuple(sorted(best.values(), key=lambda one: one.by_mm))
