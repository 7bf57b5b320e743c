"""What a simulation relied on, and where it went beyond what a relation is known for, with numbers.

Leaving a range is no fault of the run: small engines lie outside what heat-loss relations were measured on. It is said
so that nobody takes the figures for better than they are.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from scribeline.cycle.engine import Conditions, Engine, Knobs
from scribeline.cycle.recording import Passage, Recording
from scribeline.cycle.simulate import CycleResult
from scribeline.models import (
    annand,
    discharge,
    duct_walls,
    friction,
    fuel,
    gas_properties,
    knock,
    moist_air,
    reed,
    resonance,
    scavenging,
    wiebe,
)
from scribeline.models.relation import UNITS, Constant, Knob, Quantity, Range, Relation

AIR = Relation(
    "air outside",
    "density and moisture of the air",
    ("cipm-2007",),
    (),
    (
        Range("air temperature", moist_air.LOWEST_C, moist_air.HIGHEST_C),
        Range("air pressure", moist_air.LOWEST_PA / 100.0, moist_air.HIGHEST_PA / 100.0),
    ),
)


@dataclass(frozen=True)
class Left:
    """One range that was left: the relation, its range, and the lowest and highest value that occurred."""

    relation: Relation
    range: Range
    lowest: float
    highest: float

    @property
    def words(self) -> str:
        """In one sentence, with numbers."""
        unit = UNITS[self.range.quantity]
        unit = f" {unit}" if unit else ""
        lowest, highest = (f"{float(f'{value:.4g}'):g}" for value in (self.lowest, self.highest))
        here = lowest if lowest == highest else f"{lowest} to {highest}"
        known = f"{self.range.low:g} to {self.range.high:g}"
        return f"{self.relation.name}: {self.range.quantity} {here}{unit}, known for {known}{unit}"


def relations(engine: Engine, knobs: Knobs | None = None) -> tuple[Relation, ...]:
    """Every relation that a run of this engine relies on, its knobs as they were set, those of models/ if left out."""
    found = [wiebe, annand, scavenging, discharge, duct_walls, resonance, friction, fuel, gas_properties, knock]
    if engine.reed is not None:
        found.append(reed)
    return (*(_as_set(module.RELATION, knobs or Knobs()) for module in found), AIR)


def _as_set(relation: Relation, knobs: Knobs) -> Relation:
    """The relation with the values that its knobs were turned to; itself where none was."""
    turned = tuple(_turned(knob, getattr(knobs, knob.name)) for knob in relation.knobs)
    if relation is scavenging.RELATION and knobs.scavenging_curve is not None:
        curve = zip(("k0", "k1", "k2"), knobs.scavenging_curve, strict=True)
        given = tuple(Constant(f"scavenging_curve {name}", value, "", "measured") for name, value in curve)
        return replace(relation, knobs=(), constants=given)
    return relation if turned == relation.knobs else replace(relation, knobs=turned)


def _turned(knob: Knob, value: float) -> Knob:
    return knob if value == knob.value else replace(knob, value=value, usual=knob.value)


def left(
    engine: Engine, runs: Iterable[tuple[CycleResult, Recording]], air: Conditions, knobs: Knobs | None = None
) -> tuple[tuple[Relation, ...], list[Left]]:
    """Every relation that the runs of one engine relied on, and the ranges that one of them left.

    runs : result and recorded revolution of each speed; knobs : those it was run with, those of models/ if left out
    """
    been: dict[Quantity, list[float]] = {
        "bore": [1e3 * engine.cylinder.bore_m],
        "mixture strength": [fuel.phi_of_afr(engine.afr)],
        "air temperature": [air.t_k - 273.15],
        "air pressure": [air.p_pa / 100.0],
        "bend tightness": _tightness(engine),
        "squish over piston": [engine.squish_over_piston],
        "crank speed": [],
        "gas in the cylinder": [],
        "residual gas": [],
        "delivery ratio": [],
        "octane needed": [],
        "Reynolds number": [],
        "lift over petal length": [],
    }
    for result, rec in runs:
        been["crank speed"].append(result.speed_rpm)
        been["gas in the cylinder"] += [float(rec.cylinder_k.min()), float(rec.cylinder_k.max())]
        been["residual gas"].append(1.0 - result.scavenging_efficiency)
        been["delivery ratio"].append(result.delivery_ratio)
        been["octane needed"].append(result.octane_needed)
        been["Reynolds number"] += [
            _reynolds(rec.exhaust, engine.exhaust[0].to_m),
            _reynolds(rec.intake, engine.intake[-1].to_m),
        ]
        if engine.reed is not None:
            been["lift over petal length"].append(float(rec.lift_m.max()) / engine.reed.length_m)
    used = relations(engine, knobs)
    found = []
    for relation in used:
        for one in relation.ranges:
            values = been[one.quantity]
            if values and (min(values) < one.low or max(values) > one.high):
                found.append(Left(relation, one, min(values), max(values)))
    return used, found


def _reynolds(passage: Passage, bore_m: float) -> float:
    """Reynolds number of the mean of the flow's size in a duct of this bore, 4 m / (pi D mu)."""
    flow = float(abs(passage.flow_kg_s).mean())
    return 4.0 * flow / (math.pi * bore_m * float(annand.viscosity_pa_s(float(passage.t_k.mean()))))


def _tightness(engine: Engine) -> list[float]:
    """Bore over twice the middle line's radius of each bend, from its loss; nothing where there are no bends."""
    return [part.bend_tightness for part in (*engine.exhaust, *engine.intake) if part.bend_loss > 0.0]
