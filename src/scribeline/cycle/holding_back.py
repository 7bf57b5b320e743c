"""What limits an engine at one speed: one plain sentence, from the flows that were computed for that speed.

Every cause below is worked out from one recorded revolution and measured in the same coin: its share of the charge
that would fill the swept volume with outside air (for knock and friction, its share of the work). The largest leads.

    blowdown unfinished       room that burned gas took in the transfers after they opened: its mass, times the
                              cylinder's temperature over the crankcase's
    transfers close early     charge the crankcase still holds above the cylinder's pressure when the last one closes
    back into the transfers   mass that went from the cylinder into them after they had begun to deliver
    crankcase not filled      charge that is missing to outside pressure when the crankcase holds most
    blown back at the intake  mass that left the crankcase through the intake
    lost through the exhaust  fresh charge that left for good, less what a cylinder that mixes evenly loses at this
                              delivery ratio
    not swept out             burned gas in the trapped mass
    knock                     1 % of the work for each octane number that the fuel lacks
    friction                  what it takes of the work beyond FRICTION_USUAL

Judgement, no source: the coin itself, the thresholds SMALL, RUNNING and FRICTION_USUAL, the price of an octane number.
The costs overlap and do not add up to what is missing. The yardstick of even mixing: hopkinson-1914.
"""

import math
from dataclasses import dataclass

import numpy as np

from scribeline.cycle.engine import Conditions, Engine
from scribeline.cycle.recording import Passage, Recording
from scribeline.cycle.simulate import CycleResult
from scribeline.kernels.gas import FloatArray

SMALL = 0.04  # a cause that costs less than this share is no limit
RUNNING = 0.25  # an intake flow above this share of its highest, when it ends, was cut off
FRICTION_USUAL = 0.20  # share of the indicated work
WORK_PER_OCTANE = 0.01
MG = 1e6


@dataclass(frozen=True)
class Cause:
    """One thing that holds the engine back: a key for tests and tables, its cost [-], and what to say."""

    key: str
    cost: float
    says: str


def causes(engine: Engine, result: CycleResult, rec: Recording, octane: float, air: Conditions) -> list[Cause]:
    """Every cause with what it costs, largest first; see the module's table.

    octane : of the fuel, research octane number; air : the air outside, of which the reference charge is made
    """
    reference_kg = result.trapped_kg * result.scavenging_efficiency / result.charging_efficiency
    found = (
        _blowdown(rec, reference_kg),
        _crankcase_not_emptied(engine, rec, air),
        _back_into_transfers(rec, reference_kg),
        _crankcase_not_filled(engine, rec, air),
        _back_at_intake(rec, reference_kg),
        _lost(result, rec),
        _not_swept(result, reference_kg),
        _knock(result, octane),
        _friction(result),
    )
    return sorted((Cause(c.key, float(c.cost), c.says) for c in found), key=lambda cause: -cause.cost)


def holding_back(found: list[Cause]) -> str:
    """One sentence from the causes of a speed: the largest, and the next where it costs at least half as much."""
    first, second = found[0], found[1]
    if first.cost < SMALL:
        return f"Nothing stands out; most is that {first.says} ({_percent(first.cost)})."
    words = f"{first.says[0].upper()}{first.says[1:]} ({_percent(first.cost)})"
    if second.cost >= max(SMALL, 0.5 * first.cost):
        words += f"; then {second.says} ({_percent(second.cost)})"
    return words + "."


def _percent(share: float) -> str:
    return f"costs {100.0 * share:.0f} %" if share >= 0.005 else "costs nothing"


def _bar(pascal: float) -> str:
    return f"{1e-5 * pascal:.2f} bar"


def _mass(flow: FloatArray, time: FloatArray) -> float:
    return float((flow * time).sum())


def _negative(flow: FloatArray) -> FloatArray:
    return np.asarray(np.clip(-flow, 0.0, None))


def _early_and_late_back(rec: Recording, port: Passage) -> tuple[float, float]:
    """Mass [kg] that flowed from the cylinder into a transfer before it first delivered, and after that."""
    open_now = np.flatnonzero(port.area_m2 > 0.0)
    flow = port.flow_kg_s[open_now]
    delivering = np.flatnonzero(flow > 0.0)
    turn = int(delivering[0]) if delivering.size else flow.size
    back = _negative(flow) * rec.step_s
    return float(back[:turn].sum()), float(back[turn:].sum())


def _blowdown(rec: Recording, reference_kg: float) -> Cause:
    mass = sum(_early_and_late_back(rec, port)[0] for port in rec.transfers)
    at = rec.transfer_opens_rad
    hotter = rec.at(rec.cylinder_k, at) / rec.at(rec.case_k, at)
    cylinder, case = rec.at(rec.cylinder_pa, at), rec.at(rec.case_pa, at)
    says = (
        f"the blowdown is not finished: when the transfers open the cylinder is at {_bar(cylinder)} and the crankcase "
        f"at {_bar(case)}, and {MG * mass:.1f} mg of burned gas flow into the transfers"
    )
    return Cause("blowdown", mass * hotter / reference_kg, says)


def _crankcase_not_emptied(engine: Engine, rec: Recording, air: Conditions) -> Cause:
    at = rec.transfer_closes_rad
    cylinder, case = rec.at(rec.cylinder_pa, at), rec.at(rec.case_pa, at)
    flow = sum(float(port.flow_kg_s[_last_open(port)]) for port in rec.transfers)
    over = max(case - max(cylinder, rec.ambient_pa), 0.0) if flow > 0.0 else 0.0
    cost = over * _case_m3(engine, at) / rec.at(rec.case_k, at) / _reference_pa_m3_k(engine, air)
    says = (
        f"the transfers close before the crankcase has emptied: it is still at {_bar(case)}, the cylinder at "
        f"{_bar(cylinder)}"
    )
    return Cause("transfers close early", cost, says)


def _back_into_transfers(rec: Recording, reference_kg: float) -> Cause:
    mass = sum(_early_and_late_back(rec, port)[1] for port in rec.transfers)
    together = np.sum([port.flow_kg_s for port in rec.transfers], axis=0)
    late = np.where(rec.theta_rad > math.pi, together, 0.0)
    most = int(np.argmin(late))
    says = (
        f"charge flows back from the cylinder into the transfers before they close, {MG * mass:.1f} mg of it: at "
        f"{math.degrees(rec.theta_rad[most]):.0f}° after top dead centre the cylinder is at "
        f"{_bar(rec.cylinder_pa[most])} and the crankcase at {_bar(rec.case_pa[most])}"
    )
    return Cause("back into the transfers", mass / reference_kg, says)


def _filling(rec: Recording) -> tuple[int, FloatArray]:
    """Column at which the crankcase has taken in most, counted from bottom dead centre, and the flow in that order."""
    half = len(rec.theta_rad) // 2
    flow = np.roll(rec.intake.flow_kg_s, -half)
    return (int(np.argmax(np.cumsum(flow))) + half) % len(flow), flow


def _crankcase_not_filled(engine: Engine, rec: Recording, air: Conditions) -> Cause:
    end, flow = _filling(rec)
    at = float(rec.theta_rad[end])
    case = float(rec.case_pa[end])
    cost = max(air.p_pa - case, 0.0) * _case_m3(engine, at) / float(rec.case_k[end]) / _reference_pa_m3_k(engine, air)
    last = float(rec.intake.flow_kg_s[end - 2 : end + 1].max(initial=0.0))
    where = (
        f"at {math.degrees(at):.0f}° after top dead centre the crankcase is at {_bar(case)}, {_bar(air.p_pa)} outside"
    )
    if engine.reed is None and last > RUNNING * flow.max():
        return Cause(
            "crankcase not filled", cost, f"the intake closes while {1e3 * last:.0f} g/s still run in: {where}"
        )
    return Cause("crankcase not filled", cost, f"the intake does not fill the crankcase: at best, {where}")


def _back_at_intake(rec: Recording, reference_kg: float) -> Cause:
    time = np.full_like(rec.theta_rad, rec.step_s)
    back, into = (_mass(np.clip(sign * rec.intake.flow_kg_s, 0.0, None), time) for sign in (-1.0, 1.0))
    says = f"the intake blows back {MG * back:.1f} mg of the {MG * into:.0f} mg that came in"
    return Cause("blown back at the intake", back / reference_kg, says)


def _lost(result: CycleResult, rec: Recording) -> Cause:
    fresh = rec.exhaust.fresh * rec.exhaust.flow_kg_s
    open_ = rec.between(rec.opens_rad, rec.transfer_closes_rad)
    after = rec.between(rec.transfer_closes_rad, rec.closes_rad)
    early, late = _mass(fresh, open_), _mass(fresh, after)
    lost = early + late
    delivery = result.delivery_ratio
    share = 1.0 - result.trapping_efficiency
    cost = max(delivery * share - (delivery + math.expm1(-delivery)), 0.0)
    pipe = float((rec.exhaust.p_pa * after).sum() / after.sum())
    if late > 0.5 * lost:
        when = f"{MG * late:.1f} mg of it after the transfers have closed, when the pipe is at {_bar(pipe)}"
    elif late > 0.0:
        when = f"most of it while the transfers are open, and {MG * late:.1f} mg after, with the pipe at {_bar(pipe)}"
    else:
        when = f"all of it while the transfers are open; after that the pipe, at {_bar(pipe)}, pushes back what it can"
    says = f"the pipe lets {100.0 * share:.0f} % of the charge delivered out of the exhaust, {when}"
    return Cause("lost through the exhaust", cost, says)


def _not_swept(result: CycleResult, reference_kg: float) -> Cause:
    burned = max(1.0 - result.scavenging_efficiency, 0.0)
    says = f"the cylinder is not swept out: {100.0 * burned:.0f} % of what is trapped is burned gas"
    return Cause("not swept out", burned * result.trapped_kg / reference_kg, says)


def _knock(result: CycleResult, octane: float) -> Cause:
    lacking = result.octane_needed - octane
    says = f"it would knock: it asks for {result.octane_needed:.0f} octane and has {octane:.0f}, give or take several"
    return Cause("knock", WORK_PER_OCTANE * max(lacking, 0.0), says)


def _friction(result: CycleResult) -> Cause:
    share = 1.0 - result.bmep_pa / result.imep_pa if result.imep_pa > 0.0 else 1.0
    says = f"friction takes {100.0 * share:.0f} % of the work"
    return Cause("friction", max(share - FRICTION_USUAL, 0.0), says)


def _last_open(port: Passage) -> int:
    return int(np.flatnonzero(port.area_m2 > 0.0)[-1])


def _case_m3(engine: Engine, theta_rad: float) -> float:
    return engine.case_at_tdc_m3 - (engine.cylinder.volume_m3(theta_rad) - engine.cylinder.clearance_m3)


def _reference_pa_m3_k(engine: Engine, air: Conditions) -> float:
    """Outside pressure times swept volume over outside temperature: the reference charge times its gas constant."""
    return air.p_pa * engine.cylinder.swept_m3 / air.t_k
