"""The engine turning, in SI: one speed to its periodic state, a power curve, a batch of variants, results in a file.

    from scribeline.cycle import Settings, batch, power_curve, simulate

    result = simulate(engine, 9000.0, Settings(cell_m=0.01))

`from_record.build_of` makes the engine of a worked-out record. Only this room and `scribeline.models` hold physics that
a test bench could correct; the arithmetic lies in `scribeline.kernels`.
"""

from scribeline.cycle.along import power_curve
from scribeline.cycle.batches import batch
from scribeline.cycle.cylinder import Cylinder
from scribeline.cycle.engine import Chamber, Conditions, Engine, Knobs, Reed, Section, Transfer
from scribeline.cycle.how_sure import Sure, how_sure
from scribeline.cycle.keeping import read_results, save_results
from scribeline.cycle.simulate import FOR_SEARCHES, CycleResult, Settings, simulate

__all__ = [
    "FOR_SEARCHES",
    "Chamber",
    "Conditions",
    "CycleResult",
    "Cylinder",
    "Engine",
    "Knobs",
    "Reed",
    "Section",
    "Settings",
    "Sure",
    "Transfer",
    "batch",
    "how_sure",
    "power_curve",
    "read_results",
    "save_results",
    "simulate",
]
