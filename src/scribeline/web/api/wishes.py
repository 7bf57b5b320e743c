"""What is sent to have something worked out. Units stand in the names; ranges are those of the commands."""

from typing import Annotated, Any, Literal

from pydantic import Field

from scribeline.web.api.shapes import Shape

_TOML = "as the text of a TOML file"
_MM = Annotated[float | None, Field(ge=0, le=2000)]


class PlanWish(Shape):
    """Steps as a builder would say them, after those of a plan file where one is given."""

    steps: list[str] = Field([], examples=[["raise exhaust roof at exhaust: 1 mm"]])
    plan_toml: str | None = Field(None, description=f"the plan, with parts at hand and limits, {_TOML}")


class WhatIf(PlanWish):
    """What a plan would move. With `from_here` the first steps are done, and the rest is worked out again."""

    cut_list: bool = False
    from_here: int | None = Field(None, ge=0, description="so many steps are done")
    measured_toml: str | None = Field(None, description=f"the engine as it was measured then, {_TOML}")
    measured_of: str | None = Field(None, description='or which record of this build it is, such as "3" or "work"')


class CardWish(Shape):
    """The engine card with limits and crank speed of one's own, or the working of some of its numbers."""

    speed_rpm: float | None = Field(None, ge=100, le=30000)
    plus_minus: bool = True
    limits_toml: str | None = Field(None, description=f"limits of your own, {_TOML}")
    explain: list[str] = Field([], description="names of numbers: their workings instead of the card")
    units: Literal["mm", "inch"] = Field("mm", description="what lengths are written in, as text or page")
    form: Literal["json", "text", "page"] = "json"


class RecordText(Shape):
    """An engine record."""

    record_toml: str


class BuildCardWish(Shape):
    """The picture of an engine before and after: after a plan, or as another record has it."""

    plan_toml: str | None = None
    after_of: str | None = Field(None, description="another record of this build: a number, or work")
    after_toml: str | None = None
    form: Literal["png", "svg"] = "png"
    square: bool = False
    dark: bool = False
    transparent: bool = False


class SheetsWish(PlanWish):
    """Sheets to print and mark out by."""

    paper: str = "A4"
    formats: str = Field("pdf", description="of pdf, svg and dxf, with commas between")
    only: list[str] = Field([], description="names of sheets")
    bar_across: str | None = Field(None, description="what the 100 mm bar along the short edge measured")
    bar_up: str | None = Field(None, description="what the one along the long edge measured")
    thickness_mm: float = Field(0.10, ge=0, le=0.5, description="of the paper that the wrap is printed on")
    windows: bool = Field(False, description="ports are to be cut out of the wrap")
    sleeve_mm: float | None = Field(None, ge=10, le=200, description="outside of a loose sleeve")
    wheels_mm: list[float] | None = Field(None, description="diameters of degree wheels")
    bolt_mm: float = Field(10.0, ge=2, le=40)
    turns: Literal["clockwise", "anticlockwise"] = "clockwise"
    metal_mm: float = Field(1.0, ge=0.3, le=3, description="thickness of the pipe's metal")
    stock: str = Field("1000x500", description="sheets of that metal, mm")
    units: Literal["mm", "inch"] = Field("mm", description="what lengths on the sheets are written in")


class AirWish(Shape):
    """The air outside, the throttle and the fineness of a simulation."""

    throttle: float = Field(1.0, ge=0.1, le=1)
    cell_mm: float = Field(10.0, ge=2, le=40, description="longer cells are quicker and coarser")
    air_hpa: float | None = None
    air_c: float | None = None
    humidity_percent: float | None = None
    blow_by_mm2: float = Field(0.0, ge=0, description="area that leaks past the rings, as if it were a nozzle")
    knobs: list[str] = Field([], description="what the simulation relies on, turned", examples=[["mixing=0.5"]])


class CurveWish(PlanWish, AirWish):
    """A power curve, and beside it that of the engine after a plan, or of another record."""

    speeds: str | None = Field(None, description="FIRST:LAST:STEP in rev/min", examples=["5000:12000:500"])
    compare_of: str | None = Field(None, description="another record of this build: a number, or work")
    compare_toml: str | None = None
    how_sure: bool = Field(False, description="the error of the arithmetic too")
    plus_minus: bool = Field(False, description="carry the +/- of the readings into the curve")
    form: Literal["json", "csv", "text", "page", "svg", "png", "npz"] = "json"


class TraceWish(AirWish):
    """One speed opened up, crank degree by crank degree; with another record at the same speed beside it."""

    compare_of: str | None = Field(None, description="another record of this build: a number, or work")
    compare_toml: str | None = None
    speed_rpm: float = Field(ge=500, le=30000)
    form: Literal["json", "csv", "text", "page", "svg", "png"] = "json"


class SearchWish(Shape):
    """Plans for a goal."""

    goal: str = Field("most", description="most, pull, top-speed or FIRST:LAST in rev/min", examples=["8000:10500"])
    plan_toml: str | None = Field(None, description=f"parts at hand and limits, {_TOML}")
    gaskets: str | None = Field(None, max_length=2000, examples=["base 0.5x2 0.3, head 0.8"])
    tools: str | None = Field(None, max_length=2000, examples=["file, glass plate"])
    keep: list[str] = Field([], description="parts to leave as they are")
    also: str | None = Field(None, description="to keep high too: of pull, trapped, knock, peak, band")
    evaluations: int = Field(1000, ge=10, le=100_000, description="engines to simulate at most")
    form: Literal["json", "svg", "png"] = "json"


class WhoWish(PlanWish):
    """Who limits what: of a plan's steps, towards another record, or of the best single thing of each group."""

    goal: str = "most"
    against_of: str | None = Field(None, description="another record of this build: a number, or work")
    against_toml: str | None = None
    gaskets: str | None = Field(None, max_length=2000)
    tools: str | None = Field(None, max_length=2000)
    draws: int = Field(4, ge=0, le=100, description="engines drawn within the +/-")
    form: Literal["json", "text", "svg", "png"] = "json"


class PipeWish(Shape):
    """A pipe for a crank speed; without one, what the fitted pipe is tuned for."""

    speed_rpm: float | None = Field(None, ge=500, le=30000)
    goal: Literal["band", "wide"] = "band"
    diffusers: int = Field(1, ge=1, le=2)
    header_mm: _MM = None
    longest_mm: Annotated[float | None, Field(ge=100)] = None
    widest_outside_mm: _MM = None
    steepest_diffuser_deg: Annotated[float | None, Field(ge=2, le=30)] = None
    steepest_baffle_deg: Annotated[float | None, Field(ge=5, le=60)] = None
    stinger_least_mm: _MM = None
    stinger_most_mm: _MM = None
    stinger_length_mm: _MM = None
    first_shape: bool = Field(False, description="only the published rules, without simulation")
    metal_mm: float = Field(1.0, ge=0.3, le=3)
    gap_mm: float = Field(0.0, ge=0, le=3)
    overlap_mm: float = Field(0.0, ge=0, le=20)
    joint_deg: float = Field(15.0, ge=1, le=45)
    stock: str = "1000x500"
    paper: str = "A4"
    formats: str = "pdf,dxf"
    bar_across: str | None = None
    bar_up: str | None = None
    form: Literal["json", "text", "svg", "png", "record", "patterns"] = "json"


class Prediction(Shape):
    """A prediction of one's own, kept before it can be known."""

    what: str = Field(examples=["25 to 50 km/h"])
    value: float
    low: float = Field(description="lower end of its band, in which it should be 19 times of 20")
    high: float
    unit: str = Field(examples=["s"])
    quantity: str = ""
    revision: int | None = None
    note: str = ""
    author: str | None = None


class PlanPrediction(PlanWish):
    """What a plan says of the engine card, kept before metal leaves."""

    first_steps: int | None = Field(None, ge=1, description="only so many of its steps")
    revision: int | None = None
    note: str = ""
    author: str | None = None


class RoadPrediction(PlanWish):
    """A revision simulated and driven through gates, kept before the runs."""

    gates: list[str] = Field(min_length=1, examples=[["30 to 55 km/h"]])
    speeds: str | None = None
    air: str | None = Field(None, examples=["18 C, 1003 hPa, 60 %"])
    revision: int | None = None
    note: str = ""
    author: str | None = None


class Beside(Shape):
    """What was measured: a typed value of one prediction, else a trial, else the latest revision."""

    prediction: int | None = None
    value: float | None = None
    plus_minus: float | None = None
    seen_in: str = ""
    trial: str | None = None
    setup: str | None = None
    measured_again: bool = False
    author: str | None = None


class Because(Shape):
    """Why; it stays in the notebook."""

    because: str
    author: str | None = None


class Lesson(Shape):
    """What one would do again, or never again."""

    words: str
    revision: int | None = None
    author: str | None = None


class TrialSettings(Shape):
    """What is wanted of a trial, as at the command line."""

    gates: list[str] = Field([], examples=[["40-80 km/h"]])
    air: str | None = Field(None, examples=["22 C 1008 hPa"])
    band: str | None = Field(None, examples=["6000 to 9000"])
    way: str | None = Field(None, description="wind and slope", examples=["out: head wind 3 km/h, up 0.2 %"])
    turning: str | None = Field(
        None, description="what turns with the vehicle", examples=["wheels 0.32 kg m2, crank 21 kg cm2", "share 4 %"]
    )
    author: str | None = None


class NewTrial(TrialSettings):
    """A trial to begin."""

    name: str
    build: str | None = None
    revision: int | None = None
    note: str = ""


class RunDropped(Because):
    """A run dropped with a reason, or taken back."""

    run: str
    back: bool = False


class ReadAnew(Shape):
    """How a recording of a trial is read anew; what is left out is as it was told before."""

    road: int | None = Field(None, description="number of a recording of this trial: the road speed during this sound")
    by_ear: bool = Field(False, description="without the road speed that was told before")
    setup: str | None = None
    direction: str | None = None
    utc_offset_h: float | None = None
    cylinders: int | None = None
    strokes: int | None = None
    engine_speeds: str | None = Field(None, examples=["2000 to 12000"])
    camera: str | None = None
    author: str | None = None


class PullCorrected(Because):
    """A pull corrected: trim, leave-out, take-back-in, gear, direction or add."""

    pull: str = Field(description="FILE.PULL as the trial lists it; FILE alone for add", examples=["1.2"])
    action: str
    start_s: float | None = None
    end_s: float | None = None
    gear: int | None = None
    direction: str = ""


class Turn(Shape):
    """Which entry of the trial's journal is undone or redone, as it was shown."""

    number: int
    author: str | None = None


class CompareWish(Shape):
    """Trials to hold against each other, and setups in them; the first is what the others are held against."""

    trials: list[str]
    setups: list[str] = Field([], description="of all of them, where left out")
    without: list[str] = Field([], description="order, direction, day or pair shall not go in beside")
    measure: str | None = None
    correct: str | None = Field(None, description="power by iso-1585 or sae-j1349")
    predict: bool = Field(False, description="simulate each build, and set its times beside")
    transparent: bool = False
    form: Literal["json", "text", "csv", "xlsx", "svg", "png"] = "json"


class RunsNeeded(Shape):
    """Before the day: how many runs, in which order, which way."""

    difference: float = Field(ge=0, description="the difference to be seen")
    scatter: float = Field(ge=0, description="how far single runs scatter, as a standard deviation")
    setups: list[str] = Field(["A", "B"])
    unit: str = "s"


class CoastDown(Shape):
    """Roll-outs to find rolling and air drag from: recordings among the files of a build, by their ids."""

    build: str
    out: list[str] = Field(min_length=1, description="ids of files, driven one way")
    back: list[str] = Field([], description="driven the other way")
    mass_kg: float = Field(gt=0)
    air: str | None = None


def asked(wish: Shape) -> dict[str, Any]:
    """A wish as the workers take it."""
    return wish.model_dump()
