"""The engine record: everything that was measured on one engine, and nothing that follows from it."""

from typing import Literal

from pydantic import Field, field_validator
from pydantic_core import PydanticCustomError

from scribeline.engine.bottom_end import Crank, Crankcase, Cylinder, Gaskets, Piston
from scribeline.engine.breathing import Exhaust, Fuel, Ignition, Intake
from scribeline.engine.head import Head, Squish
from scribeline.engine.measured import Part
from scribeline.engine.ports import DegreeWheel, Port
from scribeline.engine.vehicle import Drivetrain, Vehicle


class EngineRecord(Part):
    """One engine as measured. `speed_rpm` is the crank speed that the card's speeds and time-areas are for."""

    scribeline_record: Literal[1]
    name: str
    note: str = ""
    invented: bool = False
    speed_rpm: float = Field(json_schema_extra={"minimum": 100, "maximum": 30000})
    crank: Crank
    cylinder: Cylinder
    gaskets: Gaskets = Gaskets()
    piston: Piston = Piston()
    head: Head = Head()
    squish: Squish | None = None
    degree_wheel: DegreeWheel | None = None
    ports: tuple[Port, ...] = ()
    crankcase: Crankcase = Crankcase()
    intake: Intake | None = None
    exhaust: Exhaust | None = None
    ignition: Ignition = Ignition()
    fuel: Fuel = Fuel()
    drivetrain: Drivetrain = Drivetrain()
    vehicle: Vehicle = Vehicle()

    @field_validator("speed_rpm")
    @classmethod
    def _turning(cls, rpm: float) -> float:
        if not 100 <= rpm <= 30000:
            raise PydanticCustomError(
                "out_of_range",
                "{accepted}",
                {
                    "accepted": "100 to 30000 rpm",
                    "value": rpm,
                    "remedy": "the crank speed the card is to be worked out at",
                },
            )
        return rpm
