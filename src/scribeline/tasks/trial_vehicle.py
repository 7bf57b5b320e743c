"""The vehicle of a record as trials need it: gearing, mass, what holds it back; each with its +/- or the assumption.

Where a record lacks a number the same value is assumed that the card assumes, and listed; without mass or gearing
there is no power, only times.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from scribeline.engine import EngineRecord, Measured, Part
from scribeline.errors import TrialError
from scribeline.models.moist_air import Air
from scribeline.models.road_load import RoadLoad, road_load
from scribeline.tasks.trial_turning import Turning
from scribeline.trials.coast_down import CoastDown
from scribeline.trials.predict import Machine, reductions
from scribeline.trials.road_power import Driven

STANDARD_DENSITY_KG_M3 = 1.225
ROTATING, ROTATING_PM = 0.03, 0.015
"""Wheels and shafts as a share of the mass: judgement, in agreement with the 3 % customary for motorcycles."""
TURNING_ASSUMED = f"what turns beside the engine = {100 * ROTATING:g} % of the mass: judgement"

# value, +/- (about 95 %), why: the card's own assumptions (geometry.derive.pipe_and_drive).
_ASSUMED = {
    ("vehicle", "rolling_resistance"): (0.02, 0.01, "typical, judgement: coast down to know yours"),
    ("vehicle", "drag_area_m2"): (0.6, 0.2, "typical with a rider, judgement: coast down to know yours"),
    ("drivetrain", "efficiency"): (0.9, 0.05, "typical of chain and gears, judgement"),
    ("drivetrain", "primary_ratio"): (1.0, 0.0, "no primary drive in the record: taken as direct"),
    ("drivetrain", "clutch_engages_rpm"): (0.0, 0.0, "no clutch in the record: taken as always closed"),
}


@dataclass(frozen=True)
class HeldBack:
    """What roll-outs of a trial gave, each as (value, +/-), and what it rests on, in words."""

    rolling_resistance: tuple[float, float]
    drag_area_m2: tuple[float, float]
    rests_on: str

    @property
    def share(self) -> float:
        """+/- of both together. They hold about equally at the speeds of a pull, and are joined as if they did."""
        (rolling, rolling_pm), (drag, drag_pm) = self.rolling_resistance, self.drag_area_m2
        return 0.5 * float(np.hypot(rolling_pm / rolling, drag_pm / drag))


def held_back_kept(kept: Mapping[str, Any] | None) -> HeldBack | None:
    """What the journal keeps."""
    if not kept:
        return None
    (rolling, rolling_pm), (drag, drag_pm) = kept["rolling_resistance"], kept["drag_area_m2"]
    return HeldBack((float(rolling), float(rolling_pm)), (float(drag), float(drag_pm)), str(kept["rests_on"]))


@dataclass(frozen=True)
class Vehicle:
    """What a record says about the vehicle.

    gears : total reduction of each gear; rpm_per_m_s : of the only or the highest gear; None without gearing
    mass_kg, mass_pm_kg : with rider; None without. load : in standard air; load_pm_share : its +/-
    assumed : what was not in the record, in words
    rotating : what turns with the wheels, as a share of the mass; engine_inertia_kg_m2 : of what turns with the crank
    """

    gears: tuple[float, ...]
    circumference_m: float | None
    mass_kg: float | None
    mass_pm_kg: float
    rolling: float
    drag_area_m2: float
    load_pm_share: float
    efficiency: float
    efficiency_pm: float
    clutch_rpm: float
    assumed: tuple[str, ...]
    primary_ratio: float = 1.0
    rotating: float = ROTATING
    rotating_pm: float = ROTATING_PM
    engine_inertia_kg_m2: float = 0.0
    engine_inertia_pm_kg_m2: float = 0.0

    def turned(self, told: Turning | None) -> "Vehicle":
        """With what is known of everything that turns. Raises TrialError for wheels without a tyre size or a mass.

        Wheels count as J/(m r²) of the mass, r from the distance rolled in one turn. What turns behind the primary
        drive goes slower than the crank by its ratio, so it counts with J/ratio² there. Source: newton.
        """
        if told is None:
            return self
        share, assumed = told.share or (self.rotating, self.rotating_pm), self.assumed
        if told.wheels_kg_m2 is not None:
            if self.circumference_m is None or self.mass_kg is None:
                raise TrialError(
                    "the inertia of the wheels without the tyre's size and the mass\n    accepted: with "
                    "tyre_circumference_mm and mass_with_rider_kg in the record, or as a share\n"
                    "    what to do: measure both, or write share 4 %"
                )
            per_kg_m2 = (2.0 * np.pi / self.circumference_m) ** 2 / self.mass_kg
            share = (told.wheels_kg_m2[0] * per_kg_m2, told.wheels_kg_m2[1] * per_kg_m2)
        if told.share or told.wheels_kg_m2:
            assumed = tuple(one for one in assumed if one != TURNING_ASSUMED)
        crank, clutch = told.crank_kg_m2 or (0.0, 0.0), told.clutch_kg_m2 or (0.0, 0.0)
        slower = self.primary_ratio**-2
        return replace(
            self, assumed=assumed, rotating=share[0], rotating_pm=share[1],
            engine_inertia_kg_m2=crank[0] + slower * clutch[0],
            engine_inertia_pm_kg_m2=float(np.hypot(crank[1], slower * clutch[1])),
        )  # fmt: skip

    def coasted(self, held: HeldBack | None) -> "Vehicle":
        """With rolling and drag from roll-outs in place of the record's, or of what was assumed."""
        if held is None:
            return self
        known = ("vehicle.rolling_resistance", "vehicle.drag_area_m2")
        return replace(
            self, rolling=held.rolling_resistance[0], drag_area_m2=held.drag_area_m2[0], load_pm_share=held.share,
            assumed=tuple(one for one in self.assumed if not one.startswith(known)),
        )  # fmt: skip

    def rpm_per_m_s(self, gear: int | None = None) -> float | None:
        """Crank speed for 1 m/s in a gear counted from 1, the highest where None."""
        if self.circumference_m is None or not self.gears:
            return None
        if gear is not None and not 1 <= gear <= len(self.gears):
            raise TrialError(
                f"gear {gear}\n    accepted: 1 to {len(self.gears)}, as in the record\n    what to do: correct the pull"
            )
        return 60.0 * self.gears[(gear or len(self.gears)) - 1] / self.circumference_m

    def load(self, air: Air | None, coasted: CoastDown | None = None) -> RoadLoad:
        """What holds it back in this air."""
        if coasted is not None:
            return coasted.load
        density = air.density_kg_m3 if air else STANDARD_DENSITY_KG_M3
        return road_load(self.mass_kg or 0.0, self.rolling, self.drag_area_m2, density)

    def driven(
        self, air: Air | None, gear: int | None = None, wind_and_grade: tuple[float, float] = (0.0, 0.0)
    ) -> Driven | None:
        """As power from speed needs it, with a head wind [m/s] on a slope; None without mass or gearing."""
        ratio = self.rpm_per_m_s(gear)
        if ratio is None or self.mass_kg is None:
            return None
        wind_m_s, grade = wind_and_grade
        return Driven(
            self.mass_kg, self.load(air).driven(grade, wind_m_s), ratio, self.rotating, self.efficiency,
            self.engine_inertia_kg_m2, self.mass_pm_kg, self.load_pm_share, self.efficiency_pm, self.rotating_pm,
            self.engine_inertia_pm_kg_m2,
        )  # fmt: skip

    @property
    def inertia_pm_share(self) -> float:
        """+/- of mass and of all that turns, as a share of both; the engine's in the gear in which it counts most."""
        if self.mass_kg is None or self.circumference_m is None or not self.gears:
            return 0.0
        per_kg_m2 = (2.0 * np.pi * max(self.gears) / self.circumference_m) ** 2 * self.efficiency
        moved = (1.0 + self.rotating) * self.mass_kg + per_kg_m2 * self.engine_inertia_kg_m2
        spreads = (
            (1.0 + self.rotating) * self.mass_pm_kg, self.rotating_pm * self.mass_kg,
            per_kg_m2 * self.engine_inertia_pm_kg_m2,
        )  # fmt: skip
        return float(np.linalg.norm(spreads)) / moved

    def machine(self, rpm: np.ndarray, power_w: np.ndarray, air: Air | None = None) -> Machine:
        """With a power curve, as a prediction needs it. Raises TrialError without mass or gearing."""
        if self.circumference_m is None or not self.gears or self.mass_kg is None:
            raise TrialError(
                "a record without gearing or mass\n    accepted: final_drive_ratio, a tyre size, mass_with_rider_kg\n"
                "    what to do: measure them, docs/howto/measure-drive-and-vehicle.md"
            )
        return Machine(
            rpm, power_w, self.gears, self.circumference_m, self.load(air), self.mass_kg, self.rotating,
            self.efficiency, self.clutch_rpm, self.engine_inertia_kg_m2,
        )  # fmt: skip


def vehicle_of(record: EngineRecord) -> Vehicle:
    """The vehicle that a record describes."""
    drive, body = record.drivetrain, record.vehicle
    assumed: list[str] = []

    def read(part: Part, place: str, field: str) -> tuple[float, float]:
        measured, spec = getattr(part, field), part.spec(field)
        if isinstance(measured, Measured) and spec is not None:
            return measured.value, measured.resolved_plus_minus(spec)
        value, spread, why = _ASSUMED[(place, field)]
        assumed.append(f"{place}.{field} = {value:g}: {why}")
        return value, spread

    primary, _ = read(drive, "drivetrain", "primary_ratio")
    efficiency, efficiency_pm = read(drive, "drivetrain", "efficiency")
    clutch, _ = read(drive, "drivetrain", "clutch_engages_rpm")
    rolling, rolling_pm = read(body, "vehicle", "rolling_resistance")
    drag, drag_pm = read(body, "vehicle", "drag_area_m2")
    final = drive.final_drive_ratio
    circumference = None
    if drive.tyre_circumference_mm is not None:
        circumference = drive.tyre_circumference_mm.value / 1e3
    elif drive.tyre_rolling_radius_mm is not None:
        circumference = 2.0 * np.pi * drive.tyre_rolling_radius_mm.value / 1e3
    mass, mass_pm = None, 0.0
    if body.mass_with_rider_kg is not None:
        mass, mass_pm = read(body, "vehicle", "mass_with_rider_kg")
    assumed.append(TURNING_ASSUMED)
    gears = reductions(drive.gears, primary, final.value) if final is not None else ()
    share = HeldBack((rolling, rolling_pm), (drag, drag_pm), "").share
    return Vehicle(
        gears,
        circumference,
        mass,
        mass_pm,
        rolling,
        drag,
        share,
        efficiency,
        efficiency_pm,
        clutch,
        tuple(assumed),
        primary,
    )
