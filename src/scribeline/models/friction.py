"""Mechanical losses as a mean pressure: what the crank does not get of the work on the piston."""

from scribeline.models.relation import Knob, Range, Relation

# blair-1996, from memory: rolling-bearing two-strokes lose 150 Pa per metre of stroke and rev/min. Knob.
PA_PER_M_RPM = 150.0


def friction_mep_pa(stroke_m: float, speed_rpm: float, pa_per_m_rpm: float = PA_PER_M_RPM) -> float:
    """Friction mean effective pressure = 150 L N [Pa]; crank pumping is not in it, the crankcase is simulated.

    stroke_m : stroke [m]; speed_rpm : crank speed [1/min]. Valid for small engines on rolling bearings; take half as
    much again as its error.

    >>> friction_mep_pa(0.05, 10000.0)
    75000.0
    """
    return pa_per_m_rpm * stroke_m * speed_rpm


RELATION = Relation(
    "friction", "what the crank does not get of the work", ("blair-1996",),
    (Knob("friction", PA_PER_M_RPM, "Pa min/m", "blair-1996", 0.0, 1000.0),),
    (Range("crank speed", 1000.0, 15000.0), Range("bore", 30.0, 100.0)),  # "small engines"; judgement
)  # fmt: skip
