"""A tuned pipe from a few choices in plain trade words: the first shape by published rules, and its sections.

The published relation gives the tuned length, from the piston's face to the mid point of the baffle cone; the
handbook gives the diffuser's taper and area ratio, the baffle's taper, the stinger's diameter and length. How long and
how tapered the header is it gives too, but not in words we could confirm: ours are judgement, and named so. What the
choices leave over of the tuned length is the belly. All diameters are inside, all tapers included angles (wall to
wall), lengths along the middle line. Nothing here is a simulation. Sources: jennings-1973, judgement.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf, pi, radians, sqrt, tan

from scribeline.engine import EngineRecord
from scribeline.errors import GeometryError
from scribeline.geometry import tuned_length
from scribeline.geometry.pipe_pieces import PipeSection

WAVE_SPEED_M_S = tuned_length.WAVE_SPEED.value * 0.3048
"""The handbook's 1700 ft/s, for a first shape: an assumption (jennings-1973)."""

# Judgement, no source, all of them.
HEADER_SHARE = 0.33  # of the tuned length, passage and header together
HEADER_TAPER_DEG = 1.0
LEAST_BELLY_MM = 10.0
LEAST_HEADER_MM = 40.0
BAFFLE_LIMITS_DEG = (10.0, 30.0)
DIFFUSER_SPREAD = {1: (1.0,), 2: (0.75, 1.25)}  # taper of each diffuser over their mean, engine end first
LEAST_GROWTH = 1.4  # belly over the diffuser's start; below it hardly a wave turns back


@dataclass(frozen=True)
class PipeShape:
    """The choices a pipe follows from.

    passage_mm : piston's face to the cylinder's outer exhaust face, not part of the pipe
    tuned_length_mm : piston's face to the mid point of the baffle
    header_mm : diameter where the pipe is bolted on; bend_deg, bend_radius_mm : of the header
    diffuser_taper_deg : mean of the diffusers' tapers; diffusers : 1 or 2 cones
    """

    passage_mm: float
    tuned_length_mm: float
    header_mm: float
    header_length_mm: float
    header_taper_deg: float
    diffuser_taper_deg: float
    belly_mm: float
    baffle_taper_deg: float
    stinger_mm: float
    stinger_length_mm: float
    diffusers: int = 1
    bend_deg: float = 0.0
    bend_radius_mm: float | None = None

    @property
    def header_end_mm(self) -> float:
        return self.header_mm + 2.0 * self.header_length_mm * _slope(self.header_taper_deg)

    @property
    def diffuser_tapers_deg(self) -> tuple[float, ...]:
        return tuple(share * self.diffuser_taper_deg for share in DIFFUSER_SPREAD[self.diffusers])

    @property
    def baffle_length_mm(self) -> float:
        return (self.belly_mm - self.stinger_mm) / (2.0 * _slope(self.baffle_taper_deg))

    @property
    def belly_length_mm(self) -> float:
        """What the rest leaves over of the tuned length; may come out negative, see `refused`."""
        before = self.passage_mm + self.header_length_mm + sum(cone.length_mm for cone in self._diffusers())
        return self.tuned_length_mm - before - 0.5 * self.baffle_length_mm

    def _diffusers(self) -> list[PipeSection]:
        """Cones that each widen by the same factor."""
        growth = (self.belly_mm / self.header_end_mm) ** (1.0 / self.diffusers)
        names = ("diffuser",) if self.diffusers == 1 else ("first diffuser", "second diffuser")
        cones, start = [], self.header_end_mm
        for i, (name, taper) in enumerate(zip(names, self.diffuser_tapers_deg, strict=True), start=1):
            end = start * growth if i < self.diffusers else self.belly_mm
            cones.append(PipeSection(name, (end - start) / (2.0 * _slope(taper)), start, end))
            start = end
        return cones

    def sections(self) -> tuple[PipeSection, ...]:
        """The pipe section by section, engine end first, unrounded."""
        belly, stinger = self.belly_mm, self.stinger_mm
        header = PipeSection(
            "header", self.header_length_mm, self.header_mm, self.header_end_mm, self.bend_deg, self.bend_radius_mm
        )
        return (
            header,
            *self._diffusers(),
            PipeSection("belly", self.belly_length_mm, belly, belly),
            PipeSection("baffle", self.baffle_length_mm, belly, stinger),
            PipeSection("stinger", self.stinger_length_mm, stinger, stinger),
        )

    def rounded(self) -> tuple[PipeSection, ...]:
        """The sections as they are made: lengths to 1 mm, diameters to 0.5 mm, the stinger's to 0.1 mm."""

        def made(diameter_mm: float) -> float:
            return round(diameter_mm, 1) if diameter_mm == self.stinger_mm else round(2.0 * diameter_mm) / 2.0

        return tuple(
            replace(one, length_mm=float(round(one.length_mm)), start_mm=made(one.start_mm), end_mm=made(one.end_mm))
            for one in self.sections()
        )


def least_header_mm(shape: PipeShape) -> float:
    """The shortest header: long enough for its bend."""
    return max(LEAST_HEADER_MM, radians(shape.bend_deg) * (shape.bend_radius_mm or 0.0))


def with_room(shape: PipeShape) -> PipeShape:
    """A shape whose parts take more than its tuned length, made to fit: a shorter header, then a thinner belly."""
    least = min(least_header_mm(shape), shape.header_length_mm)
    while shape.belly_length_mm < LEAST_BELLY_MM and shape.header_length_mm > least:
        header = shape.header_length_mm - max(LEAST_BELLY_MM - shape.belly_length_mm, 0.1)
        shape = replace(shape, header_length_mm=max(header, least))
    while shape.belly_length_mm < LEAST_BELLY_MM and shape.belly_mm > LEAST_GROWTH * shape.header_end_mm:
        shape = replace(shape, belly_mm=shape.belly_mm - 0.5)
    return shape


@dataclass(frozen=True)
class PipeLimits:
    """What can be made and what fits, mm and deg.

    longest_mm : the pipe along its middle line, from the cylinder's face to the end of the stinger
    widest_mm : largest inside diameter
    diffuser_deg, baffle_deg : least and largest included angle of a cone of each kind
    stinger_mm : least and largest inside diameter
    """

    longest_mm: float = inf
    widest_mm: float = inf
    diffuser_deg: tuple[float, float] = (
        tuned_length.DIFFUSER_TAPER_LIMITS.low,
        tuned_length.DIFFUSER_TAPER_LIMITS.high,
    )
    baffle_deg: tuple[float, float] = BAFFLE_LIMITS_DEG
    stinger_mm: tuple[float, float] = (0.0, inf)


def refused(shape: PipeShape, limits: PipeLimits) -> str:
    """Why a shape cannot be made or does not fit, in one sentence; empty where it does. Room is judged rounded."""
    length = sum(one.length_mm for one in shape.rounded())
    header_least = least_header_mm(shape)
    for wrong, why in (
        (
            shape.header_length_mm < header_least - 1e-9,
            f"the header is {shape.header_length_mm:.0f} mm long; with its bend it needs {header_least:.0f} mm",
        ),
        (
            shape.belly_mm < LEAST_GROWTH * shape.header_end_mm - 1e-9,
            f"the belly of Ø{shape.belly_mm:.0f} mm is less than {LEAST_GROWTH:g} times the header's end, "
            f"Ø{shape.header_end_mm:.0f} mm: too little for a wave to turn back from",
        ),
        (
            shape.belly_length_mm < LEAST_BELLY_MM - 1e-6,
            f"header, diffuser and half the baffle take more than the tuned length of {shape.tuned_length_mm:.0f} mm: "
            f"{shape.belly_length_mm:.0f} mm are left for the belly",
        ),
        (
            shape.belly_mm > limits.widest_mm + 1e-9,
            f"the belly of Ø{shape.belly_mm:.0f} mm is wider than {limits.widest_mm:.0f} mm inside",
        ),
        (
            length > limits.longest_mm + 1e-9,
            f"the pipe is {length:.0f} mm long; at most {limits.longest_mm:.0f} mm fit",
        ),
        (
            not _within(shape.diffuser_tapers_deg, limits.diffuser_deg),
            f"a diffuser of {max(shape.diffuser_tapers_deg):.1f}° is outside "
            f"{limits.diffuser_deg[0]:g}° to {limits.diffuser_deg[1]:g}°",
        ),
        (
            not _within((shape.baffle_taper_deg,), limits.baffle_deg),
            f"a baffle of {shape.baffle_taper_deg:.1f}° is outside {limits.baffle_deg[0]:g}° to "
            f"{limits.baffle_deg[1]:g}°",
        ),
        (
            not _within((shape.stinger_mm,), limits.stinger_mm),
            f"a stinger of Ø{shape.stinger_mm:.1f} mm is outside {limits.stinger_mm[0]:.1f} to "
            f"{limits.stinger_mm[1]:.1f} mm",
        ),
    ):
        if wrong:
            return why
    return ""


@dataclass(frozen=True)
class Mounting:
    """What the engine gives a pipe: exhaust duration, deg; passage and header's start, mm; the header's bend.

    passage_known : False where nobody measured the passage and it counts as 0
    """

    duration_deg: float
    passage_mm: float
    passage_known: bool
    header_mm: float
    bend_deg: float = 0.0
    bend_radius_mm: float | None = None


def first_shape(
    at: Mounting,
    speed_rpm: float,
    limits: PipeLimits | None = None,
    *,
    diffusers: int = 1,
    stinger_length_mm: float | None = None,
    wave_speed_m_s: float = WAVE_SPEED_M_S,
    shorten: bool = False,
) -> PipeShape:
    """The first shape for a crank speed by the published relation and proportions.

    speed_rpm : the speed it is to work best at; wave_speed_m_s : an assumption, see `tuned_length`
    The stinger has the handbook's larger diameter, 0.62 of the header, within its limits: start large. Where the
    handbook's proportions do not fit into the tuned length, the header is made shorter, then the belly thinner.
    shorten : take a shorter tuned length, down to three quarters, where the pipe is too long for its room; it is then
    tuned for another speed, so this is for a search to begin from
    Raises GeometryError where no shape fits, with what stands in the way.

    >>> shape = first_shape(Mounting(175.0, 45.0, True, 34.0), 9500.0)
    >>> round(shape.tuned_length_mm, 1), round(shape.belly_length_mm, 1)
    (795.4, 23.5)
    """
    limits = limits or PipeLimits()
    length = float(tuned_length.tuned_length_mm(at.duration_deg, speed_rpm, wave_speed_m_s))
    shares = [1.0 - 0.01 * i for i in range(26)] if shorten else [1.0]
    why = ""
    for share in shares:
        shape = _by_rules(at, share * length, limits, diffusers, stinger_length_mm)
        if not (reason := refused(shape, limits)):
            return shape
        why = why or reason
    raise GeometryError(
        f"no pipe for {speed_rpm:g} rpm: {why}\n    accepted: a pipe within the limits given\n    what to do: "
        "allow more length or width, another stinger or other angles, or aim at another speed"
    )


def _by_rules(
    at: Mounting, length: float, limits: PipeLimits, diffusers: int, stinger_length_mm: float | None
) -> PipeShape:
    """The handbook's proportions for a tuned length, whether they fit or not."""
    taper = _clamped(tuned_length.DIFFUSER_TAPER.value, limits.diffuser_deg, max(DIFFUSER_SPREAD[diffusers]))
    guide = tuned_length.stinger_guide(at.header_mm)
    stinger = _clamped(float(guide.largest_mm), limits.stinger_mm)
    bent = radians(at.bend_deg) * (at.bend_radius_mm or 0.0)
    shape = PipeShape(
        passage_mm=at.passage_mm,
        tuned_length_mm=length,
        header_mm=at.header_mm,
        header_length_mm=max(HEADER_SHARE * length - at.passage_mm, bent, LEAST_HEADER_MM),
        header_taper_deg=HEADER_TAPER_DEG,
        diffuser_taper_deg=taper,
        belly_mm=0.0,
        baffle_taper_deg=_clamped(tuned_length.BAFFLE_TAPER.value, limits.baffle_deg),
        stinger_mm=stinger,
        stinger_length_mm=stinger_length_mm or tuned_length.STINGER_LENGTH_RATIO.value * stinger,
        diffusers=diffusers,
        bend_deg=at.bend_deg,
        bend_radius_mm=at.bend_radius_mm,
    )
    belly = min(float(tuned_length.diffuser_outlet_mm(shape.header_end_mm)), limits.widest_mm)
    return with_room(replace(shape, belly_mm=belly))


def tuned_length_of(passage_mm: float, sections: Sequence[PipeSection]) -> float | None:
    """Piston's face to the mid point of the baffle of any pipe, mm; None for one that has no baffle.

    The baffle is every narrowing cone in a row behind the widest place.

    >>> belly, baffle = PipeSection("belly", 110.0, 82.0, 82.0), PipeSection("baffle", 195.0, 82.0, 21.5)
    >>> tuned_length_of(45.0, [PipeSection("", 495.0, 34.0, 82.0), belly, baffle, PipeSection("", 240.0, 21.5, 21.5)])
    747.5
    """
    widest = max(max(one.start_mm, one.end_mm) for one in sections)
    done, passed, baffle = passage_mm, False, 0.0
    for one in sections:
        passed = passed or max(one.start_mm, one.end_mm) == widest
        if passed and one.end_mm < one.start_mm:
            baffle += one.length_mm
        elif baffle:
            break
        else:
            done += one.length_mm
    return done + 0.5 * baffle if baffle else None


def sections_of(record: EngineRecord) -> tuple[PipeSection, ...]:
    """The measured pipe of a record; empty where it has none."""
    return tuple(
        PipeSection(
            section.name or f"section {number}",
            section.length_mm.value,
            section.start_mm.value,
            section.end_mm.value,
            section.bend_deg.value if section.bend_deg else 0.0,
            section.bend_radius_mm.value if section.bend_radius_mm else None,
        )
        for number, section in enumerate(record.exhaust.sections if record.exhaust else (), start=1)
    )


def mounting_of(record: EngineRecord, duration_deg: float | None, header_mm: float | None = None) -> Mounting:
    """What a record gives a new pipe; the header keeps diameter and bend of the one that is fitted.

    duration_deg : exhaust duration from the card; header_mm : inside diameter of the header's start; left out, that of
    the fitted pipe, or a circle as large as the measured exit of the exhaust port
    Raises GeometryError for what is missing, with how to measure it.
    """
    if duration_deg is None:
        raise GeometryError("no exhaust duration: measure the exhaust port's roof, or when it opens on a degree wheel")
    ports = [port for port in record.ports if port.role == "exhaust"]
    passage = next((port.passage_length_mm.value for port in ports if port.passage_length_mm), None)
    exit_mm2 = next((port.exit_area_mm2.value for port in ports if port.exit_area_mm2), None)
    fitted = sections_of(record)
    if header_mm is None:
        header_mm = fitted[0].start_mm if fitted else 2.0 * sqrt(exit_mm2 / pi) if exit_mm2 else None
    if header_mm is None:
        raise GeometryError(
            "no inside diameter for the header: measure the exit area of the exhaust port, or say the diameter"
        )
    bend = next(((one.bend_deg, one.bend_radius_mm) for one in fitted[:1] if one.bend_deg), (0.0, None))
    return Mounting(duration_deg, passage or 0.0, passage is not None, header_mm, *bend)


def _slope(taper_deg: float) -> float:
    return tan(radians(0.5 * taper_deg))


def _within(numbers: Sequence[float], limits: tuple[float, float]) -> bool:
    return all(limits[0] - 1e-9 <= number <= limits[1] + 1e-9 for number in numbers)


def _clamped(number: float, limits: tuple[float, float], spread: float = 1.0) -> float:
    return min(max(number, limits[0]), limits[1] / spread)
