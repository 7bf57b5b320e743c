"""A worked-out record becomes an engine that can be simulated, with a list of everything taken on the way.

What a simulation cannot do without is refused with how to measure it; what it can do without is taken as something
usual, and listed. Only translation lives here: the geometry is `scribeline.geometry`'s, the physics `models`'.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from scribeline.cycle.cylinder import Cylinder
from scribeline.cycle.engine import PORT_COLUMNS, Chamber, Conditions, Engine, Reed, Section, Transfer
from scribeline.engine import EXHAUST_ROLES, TRANSFER_ROLES, EngineRecord, Port, breathing
from scribeline.errors import CycleError
from scribeline.geometry import rotary_disc
from scribeline.geometry.derive.edges import skirt_edge
from scribeline.geometry.open_areas import area_under_skirt, port_open_area
from scribeline.geometry.work_out import WorkedOut
from scribeline.kernels.gas import FloatArray
from scribeline.models import discharge, duct_walls, wiebe
from scribeline.models.reed import MATERIALS
from scribeline.models.usual import (
    AFR,
    AIRBOX_MOUTH,
    CYLINDER_WALL_K,
    INTAKE_WALL_K,
    OCTANE,
    PASSAGE_OVER_STROKE,
    PIPE_END_WALL_K,
    PORT_WALL_K,
    STOP_OVER_PETAL,
    TRACT_OVER_BORE,
    TRANSFER_WALL_K,
)

THETA_DEG = np.linspace(0.0, 360.0, PORT_COLUMNS)


@dataclass(frozen=True)
class Taken:
    """One thing the simulation rests on that nobody measured: what, why, and the source key of the reason."""

    name: str
    value: float
    unit: str
    reason: str
    source: str = "judgement"


@dataclass(frozen=True)
class Advance:
    """When the spark comes, by engine speed: straight lines between the points, level beyond the ends."""

    rpm: tuple[float, ...]
    deg: tuple[float, ...]

    def at(self, speed_rpm: float) -> float:
        """Spark advance [deg before top dead centre].

        >>> Advance((6000.0, 9000.0), (24.0, 18.0)).at(8000.0)
        20.0
        """
        return float(np.interp(speed_rpm, self.rpm, self.deg))


@dataclass(frozen=True)
class Build:
    """What is simulated for a record.

    engine : at the lowest speed's spark advance; `at` gives it for a speed
    transfers : names of the transfer ports in the order of engine.transfers
    taken : everything that was not measured; left_out : what was measured, or is there, and is not simulated
    """

    engine: Engine
    advance: Advance
    octane: float
    transfers: tuple[str, ...]
    taken: tuple[Taken, ...]
    left_out: tuple[str, ...]
    air: Conditions

    def at(self, speed_rpm: float) -> Engine:
        """The engine with the spark advance of a speed."""
        return replace(self.engine, spark_deg_atdc=-self.advance.at(speed_rpm))


class _Taking:
    """Collects what is taken and left out while the engine is put together."""

    def __init__(self, out: WorkedOut, air_k: float) -> None:
        self.out, self.record, self.air_k = out, out.record, air_k
        self.taken: list[Taken] = []
        self.left_out: list[str] = []

    def take(self, name: str, value: float, unit: str, reason: str, source: str = "judgement") -> float:
        self.taken.append(Taken(name, value, unit, reason, source))
        return value

    def needed(self, name: str, what_to_do: str) -> float:
        """A derived number in the card's unit, or a refusal that says how to get it."""
        worked = self.out.values.get(name)
        if worked is None or worked.value is None:
            label = worked.label if worked is not None else name.rpartition("_")[0].replace("_", " ")
            raise _missing(label, what_to_do)
        return worked.value


def build_of(
    out: WorkedOut,
    *,
    throttle: float = 1.0,
    afr: float | None = None,
    air: Conditions | None = None,
    blow_by_mm2: float = 0.0,
) -> Build:
    """Translate a worked-out record for the simulation.

    out : `geometry.work_out` of a record, with or without draws; throttle : open share of the carburettor's bore,
    0.1 to 1; afr : mass of dry air to mass of fuel, 9.2 to 29; what the record says, else AFR, where left out
    air : the air outside, dry, 101325 Pa and 298.15 K where left out
    blow_by_mm2 : area that leaks past the rings, as if it were a nozzle [mm^2], below 10
    Raises CycleError for a measurement that a simulation cannot do without, with how to get it.
    """
    t = _Taking(out, (air or Conditions()).t_k)
    record = out.record
    if record.cylinder.count > 1:
        t.left_out.append(f"{record.cylinder.count - 1} of {record.cylinder.count} cylinders: the figures are for one")
    if afr is None and record.fuel.air_per_fuel is not None:
        afr = record.fuel.air_per_fuel.value
    if afr is None:
        afr = t.take("mixture", AFR, "kg air per kg fuel", "rich for best power and a cool piston, nobody measured it")
    if air is None or air == Conditions():
        air = Conditions()
        t.take("air outside", air.p_pa / 100.0, "hPa", f"a usual day at sea level, {air.t_k - 273.15:.0f} °C, dry")
    else:
        vapour = f"{100.0 * air.vapour_share:.2g} % of water vapour by volume" if air.vapour_share else "dry"
        t.take(
            "air outside", air.p_pa / 100.0, "hPa", f"asked for, with {air.t_k - 273.15:.3g} °C, {vapour}", "measured"
        )
    if throttle < 1.0:
        t.take(
            "throttle", throttle, "of the bore open",
            f"asked for; a loss of {discharge.THROTTLE:g} as coefficient, rising to 1 wide open", "judgement",
        )  # fmt: skip
    if record.fuel.petrol_per_oil is not None:
        t.take(
            "oil", record.fuel.petrol_per_oil.value, "parts of petrol to one",
            "counted as fuel that gives heat and takes air as petrol does", "judgement",
        )  # fmt: skip
    if blow_by_mm2 > 0.0:
        t.take("blow-by", blow_by_mm2, "mm2", "asked for; a nozzle of that area past the rings", "measured")
    cylinder = Cylinder(
        bore_m=record.cylinder.bore_mm.value / 1e3,
        stroke_m=record.crank.stroke_mm.value / 1e3,
        rod_m=record.crank.rod_length_mm.value / 1e3,
        clearance_m3=1e-6 * t.needed("clearance_volume_cc", "fill the chamber with thin oil from a burette"),
        offset_m=record.crank.pin_offset_mm.value / 1e3 if record.crank.pin_offset_mm else 0.0,
    )
    exhaust_area, (opens_rad, closes_rad), pipe = _exhaust(t)
    transfers, names = _transfers(t, cylinder.stroke_m)
    intake_area, intake, reed = _intake(t)
    at_bdc = t.needed("crankcase_volume_bdc_cc", "fill the crankcase with thin oil at bottom dead centre, or estimate")
    passages = 1e6 * sum(one.length_m * one.duct_area_m2 for one in transfers)
    t.take(
        "crankcase without its passages", at_bdc - passages, "cc at bottom dead centre",
        f"the filled volume, {at_bdc:.4g} cc, less the transfer passages, which are ducts of their own here",
        "geometry",
    )  # fmt: skip
    advance = _advance(record)
    wall = t.take(
        "cylinder wall", CYLINDER_WALL_K[record.cylinder.cooling or "air"], "K",
        "inside surfaces at full load, one mean for barrel, head and crown",
    )  # fmt: skip
    octane = record.fuel.octane_ron.value if record.fuel.octane_ron else None
    if octane is None:
        octane = t.take(
            "fuel octane", OCTANE, "RON", "no octane number in the record; only the knock margin rests on it"
        )
    _say_what_is_left_out(t, blow_by_mm2)
    engine = Engine(
        cylinder=cylinder,
        case_at_tdc_m3=1e-6 * (at_bdc - passages) + cylinder.swept_m3,
        exhaust_opens_rad=opens_rad,
        exhaust_closes_rad=closes_rad,
        exhaust_area_m2=exhaust_area,
        exhaust=pipe,
        transfers=transfers,
        intake=intake,
        intake_area_m2=intake_area,
        reed=reed,
        spark_deg_atdc=-advance.deg[0],
        throttle=throttle,
        afr=afr,
        cylinder_wall_k=wall,
        venturi_m=_venturi_m(t, intake),
        squish_over_piston=_squish_over_piston(t),
        exhaust_under_skirt_m2=_under_skirt_m2(t),
        airbox=_airbox(t, intake),
        blow_by_m2=1e-6 * blow_by_mm2,
    )
    return Build(engine, advance, octane, names, tuple(t.taken), tuple(t.left_out), air)


def _missing(what: str, how: str) -> CycleError:
    return CycleError(f"no {what} in the record\n    accepted: a measured value\n    what to do: {how}")


def _area(t: _Taking, ports: list[Port]) -> FloatArray:
    """Open area of ports together against crank angle, mirror images counted, shape (PORT_COLUMNS,) [m^2]."""
    areas = [port.openings * port_open_area(t.out, port, THETA_DEG) for port in ports]
    total = 1e-6 * np.maximum(np.sum(areas, axis=0), 0.0)
    total[-1] = total[0]
    return np.asarray(total, float)


def _drawn(t: _Taking, *roles: str) -> list[Port]:
    """The ports of these roles whose open area is known; a port with a role but no area is refused."""
    ports = [port for port in t.record.ports if port.role in roles]
    for port in ports:
        t.needed(f"ports.{port.name}.area_mm2", f"measure roof, floor and width of the {port.name} port")
    return ports


def _exhaust(t: _Taking) -> tuple[FloatArray, tuple[float, float], list[Section]]:
    """Open area, the angles at which it opens and closes after top dead centre [rad], and the pipe."""
    ports = _drawn(t, *EXHAUST_ROLES)
    if not ports:
        raise _missing("exhaust port", "measure its roof, floor and width")
    if t.record.exhaust is None or not t.record.exhaust.sections:
        raise _missing("exhaust pipe", "measure each cone and tube from the port to the open air")
    opens = t.needed("exhaust_opens_deg_atdc", "measure the roof of the exhaust port")
    closes = t.needed("exhaust_closes_deg_atdc", "measure the roof of the exhaust port")
    area = _area(t, ports)
    sections = [
        (s.length_mm.value, s.start_mm.value, s.end_mm.value, _bend(t, "exhaust", number, s))
        for number, s in enumerate(t.record.exhaust.sections, start=1)
    ]
    main = max(ports, key=lambda port: t.needed(f"ports.{port.name}.area_mm2", "measure it") * port.openings)
    if main.passage_length_mm is not None:
        # as wide at the bore as all ports fully open
        full = sum(p.openings * t.needed(f"ports.{p.name}.area_mm2", "measure it") for p in ports)
        exit_mm2 = main.exit_area_mm2.value if main.exit_area_mm2 else 0.25 * math.pi * sections[0][1] ** 2
        sections.insert(0, (main.passage_length_mm.value, _across(full), _across(exit_mm2), (0.0, 0.0)))
    else:
        t.take("exhaust passage", 0.0, "mm", f"no passage length of the {main.name} port: the pipe begins at the bore")
    whole = sum(length for length, _, _, _ in sections)
    t.take("pipe wall at the port", PORT_WALL_K, "K", "full load; nobody measured it")
    t.take("pipe wall at its end", PIPE_END_WALL_K, "K", "full load; falling evenly along the pipe from the port")
    done, pipe = 0.0, []
    for length, start, end, bend in sections:
        share = (done + 0.5 * length) / whole
        wall = PORT_WALL_K + share * (PIPE_END_WALL_K - PORT_WALL_K)
        pipe.append(Section(length / 1e3, start / 1e3, end / 1e3, wall, *bend))
        done += length
    return area, (math.radians(opens), math.radians(closes)), pipe


def _bend(t: _Taking, where: str, number: int, section: breathing.Section) -> tuple[float, float]:
    """Loss of a section's bends, K [-], and how tight they are, D/2R [-]."""
    if section.bend_deg is None or section.bend_deg.value == 0.0:
        return 0.0, 0.0
    bore = 0.5 * (section.start_mm.value + section.end_mm.value)
    if section.bend_radius_mm is not None:
        radius = section.bend_radius_mm.value
    else:
        radius = t.take(
            f"{where} section {number}: bend radius", 0.5 * duct_walls.USUAL_BEND_RADII * bore, "mm",
            f"not measured: {0.5 * duct_walls.USUAL_BEND_RADII:g} times the mean bore, as a pipe bender leaves it",
        )  # fmt: skip
    return duct_walls.bend_loss(section.bend_deg.value, bore, radius), 0.5 * bore / radius


def _under_skirt_m2(t: _Taking) -> FloatArray | None:
    """What of the exhaust ports lies open to the crankcase below the skirt; None where the skirt covers them."""
    ports = [p for p in t.record.ports if p.role in EXHAUST_ROLES and skirt_edge(p) in t.out.values]
    ports = [p for p in ports if t.out.values[skirt_edge(p)].value is not None]
    if not ports:
        return None
    area = np.sum([p.openings * area_under_skirt(t.out, p, THETA_DEG) for p in ports], axis=0)
    area = 1e-6 * np.maximum(np.nan_to_num(area), 0.0)
    area[-1] = area[0]
    return np.asarray(area, float) if area.max() > 0.0 else None


def _airbox(t: _Taking, intake: list[Section]) -> Chamber | None:
    """The box of the record, with a mouth that nobody measured."""
    if t.record.intake is None or t.record.intake.airbox_cc is None:
        return None
    bore = 1e-3 * t.take(
        "airbox mouth", 1e3 * AIRBOX_MOUTH * intake[0].from_m, "mm across",
        f"not in the record: a tube {AIRBOX_MOUTH:g} times as wide as the intake's mouth and as long as wide",
    )  # fmt: skip
    return Chamber(1e-6 * t.record.intake.airbox_cc.value, [Section(bore, bore, bore, t.air_k)])


def _squish_over_piston(t: _Taking) -> float:
    """Highest squish velocity over mean piston speed [-]."""
    fastest, mean = (t.out.values.get(name) for name in ("squish_velocity_max_m_s", "mean_piston_speed_m_s"))
    if fastest is None or mean is None or not fastest.value or not mean.value:
        return t.take(
            "squish velocity", wiebe.USUAL_SQUISH, "of the mean piston speed",
            "gap or band not measured; only the length of the burn rests on it",
        )  # fmt: skip
    return fastest.value / mean.value


def _venturi_m(t: _Taking, intake: list[Section]) -> float | None:
    """The carburettor's bore [m] where it is narrower than every measured piece of the tract, else None."""
    bore = t.record.intake.carburettor_bore_mm if t.record.intake else None
    if bore is None or bore.value / 1e3 >= min(min(s.from_m, s.to_m) for s in intake):
        return None
    t.take(
        "carburettor bore", bore.value, "mm",
        "narrower than every piece of the tract: an opening of that size at the tract's narrowest place", "measured",
    )  # fmt: skip
    return bore.value / 1e3


def _across(area_mm2: float) -> float:
    """Diameter [mm] of a circle of this area."""
    return math.sqrt(4.0 * area_mm2 / math.pi)


def _transfers(t: _Taking, stroke_m: float) -> tuple[list[Transfer], tuple[str, ...]]:
    ports = _drawn(t, *TRANSFER_ROLES)
    if not ports:
        raise _missing("transfer port", "measure roof, floor and width of each")
    wall = t.take("transfer walls", TRANSFER_WALL_K, "K", "between those of crankcase and cylinder")
    transfers = []
    for port in ports:
        length = port.passage_length_mm.value if port.passage_length_mm else None
        if length is None:
            length = t.take(
                f"{port.name}: passage length", 1e3 * PASSAGE_OVER_STROKE * stroke_m, "mm",
                f"not measured: {PASSAGE_OVER_STROKE:g} times the stroke",
            )  # fmt: skip
        area = port.passage_area_mm2.value if port.passage_area_mm2 else None
        if area is None:
            area = t.take(
                f"{port.name}: passage area", t.needed(f"ports.{port.name}.area_mm2", "measure it"), "mm2",
                "not measured: as large as the window",
            )  # fmt: skip
        transfers.append(Transfer(_area(t, [port]), length / 1e3, 1e-6 * area * port.openings, wall))
    return transfers, tuple(port.name for port in ports)


def _intake(t: _Taking) -> tuple[FloatArray, list[Section], Reed | None]:
    intake = t.record.intake
    if intake is None:
        raise _missing("intake", "say how the charge gets in: piston port, reed or rotary disc")
    tract = _tract(t)
    if intake.control == "reed":
        reed = intake.reed
        if reed is None:
            raise _missing("reed block", "measure its petals")
        modulus, density = MATERIALS[reed.material]
        t.take(f"{reed.material} petal: stiffness", modulus / 1e9, "GPa", "handbook value from memory; sheets differ")
        t.take(f"{reed.material} petal: density", density, "kg/m3", "handbook value from memory; sheets differ")
        length = reed.petal_length_mm.value / 1e3
        stop = reed.stop_height_mm.value / 1e3 if reed.stop_height_mm else None
        if stop is None:
            stop = 1e-3 * t.take(
                "reed stop", 1e3 * STOP_OVER_PETAL * length, "mm", f"no stop height: {STOP_OVER_PETAL:g} of the petal"
            )
        petals = Reed(
            reed.petals, length, reed.petal_width_mm.value / 1e3, reed.petal_thickness_mm.value / 1e3, stop, modulus,
            density,
        )  # fmt: skip
        return np.full(PORT_COLUMNS, 1e-6 * reed.block_area_mm2.value), tract, petals
    if intake.control == "rotary disc":
        disc = intake.disc
        if disc is None:
            raise _missing("rotary disc", "measure when it opens and closes, and its inlet")
        area = rotary_disc.open_area_mm2(
            THETA_DEG, disc.opens_deg_atdc.value, disc.closes_deg_atdc.value, disc.inlet_diameter_mm.value,
            disc.inlet_centre_radius_mm.value,
        )  # fmt: skip
        return 1e-6 * np.maximum(np.nan_to_num(area), 0.0), tract, None
    ports = _drawn(t, "intake")
    if not ports:
        raise _missing("intake port", "measure its roof, floor and width, and the skirt of the piston on its side")
    for port in ports:
        t.needed(
            f"ports.{port.name}.angle_area_mm2_deg", "measure the piston from crown edge to skirt edge on its side"
        )
    passage = max((p.passage_length_mm.value for p in ports if p.passage_length_mm), default=0.0)
    if passage:
        full = sum(p.openings * t.needed(f"ports.{p.name}.area_mm2", "measure it") for p in ports)
        tract.append(Section(passage / 1e3, tract[-1].to_m, _across(full) / 1e3, tract[-1].wall_k))
    return _area(t, ports), tract, None


def _tract(t: _Taking) -> list[Section]:
    """From the mouth to the engine, as `Engine` wants it; the record counts from the engine outwards."""
    intake = t.record.intake
    wall = t.take("intake wall", INTAKE_WALL_K, "K", "cooled by the mixture, warmed by the engine")
    if intake is not None and intake.tract:
        return [
            Section(
                s.length_mm.value / 1e3,
                s.end_mm.value / 1e3,
                s.start_mm.value / 1e3,
                wall,
                *_bend(t, "intake", len(intake.tract) - i, s),
            )
            for i, s in enumerate(reversed(intake.tract))
        ]
    if intake is None or intake.carburettor_bore_mm is None:
        raise _missing("intake tract", "measure the carburettor's bore, and each piece from the engine to the mouth")
    bore = intake.carburettor_bore_mm.value
    length = t.take(
        "intake tract", TRACT_OVER_BORE * bore, "mm", f"not measured: a tube of the carburettor's bore, "
        f"{TRACT_OVER_BORE:g} times as long",
    )  # fmt: skip
    return [Section(length / 1e3, bore / 1e3, bore / 1e3, wall)]


def _advance(record: EngineRecord) -> Advance:
    table = sorted(record.ignition.table, key=lambda point: point.rpm)
    if table:
        return Advance(tuple(p.rpm for p in table), tuple(p.advance_deg for p in table))
    if record.ignition.advance_deg is None:
        raise _missing("ignition advance", "read it with a timing light, or write what you believe with a wide +/-")
    return Advance((1000.0,), (record.ignition.advance_deg.value,))


def _say_what_is_left_out(t: _Taking, blow_by_mm2: float) -> None:
    record = t.record
    if record.intake is not None and record.intake.control == "reed" and any(p.role == "intake" for p in record.ports):
        t.left_out.append("the intake ports beside the reed: the reed is simulated as the only way in")
    if any(opening.bottom_from_crown_mm is not None for opening in record.piston.openings):
        t.left_out.append("the windows in the piston's skirt (a cut-out is part of the skirt's edge)")
    if blow_by_mm2 == 0.0:
        t.left_out.append("blow-by past the rings")
    t.left_out.append("oil as anything but fuel")
