"""The drawings of the operations: one for each, by the operation's name, and all of them as files.

    python -m scribeline.marking.operation_views docs/pictures/operations

writes every drawing to a folder; a test holds the committed files to what is drawn here.
"""

import sys
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from types import MappingProxyType

from scribeline.errors import SheetError
from scribeline.marking import operation_barrel as barrel
from scribeline.marking import operation_breathing as breathing
from scribeline.marking import operation_ports as ports
from scribeline.marking.shapes import Drawing
from scribeline.marking.svg import write_svg

_WITH_THE_BARREL = ("deck, ports and barrel", "move against the crown")
_WITH_THE_HEAD = ("no port moves;", "squish and chamber do")
_DRAWN: Mapping[str, Callable[[str, str], Drawing]] = MappingProxyType(
    {
        "swap base gasket": partial(
            barrel.engine, what="base gasket", notes=("base gasket", *_WITH_THE_BARREL),
            words="The base gasket lies between crankcase and barrel. Another thickness moves the whole barrel, "
            "and with it every port, the deck and the squish.",
        ),
        "remove base gasket": partial(
            barrel.engine, what="one base gasket", notes=("the sheet that is left out", *_WITH_THE_BARREL),
            words="One sheet of the stack between crankcase and barrel is left out. The barrel comes down by its "
            "thickness, and with it every port.",
        ),
        "swap head gasket": partial(
            barrel.engine, what="head gasket", notes=("head gasket", *_WITH_THE_HEAD),
            words="The head gasket lies between barrel and head. Another thickness changes squish and chamber; no port "
            "moves.",
        ),
        "deck barrel top": partial(
            barrel.engine, what="top", notes=("comes off the deck", "no port moves past the crown;",
                                              "each is nearer to the deck"),
            words="Metal comes off the barrel's top face. The head comes down by it; the ports stay where they are "
            "against the crown, and are nearer to the deck that they are measured from.",
        ),
        "deck barrel base": partial(
            barrel.engine, what="foot", notes=("comes off the foot", *_WITH_THE_BARREL),
            words="Metal comes off the barrel's foot. The whole barrel comes down by it, and with it every port, the "
            "deck and the squish.",
        ),
        "face head": partial(
            barrel.engine, what="face", notes=("comes off the gasket face", *_WITH_THE_HEAD),
            words="Metal comes off the head's gasket face, not off its squish band. Head and band come down by it; no "
            "port moves.",
        ),
        "recut squish band angle": partial(
            barrel.band, kind="angle",
            words="The squish band is cut to another angle. A steeper one keeps its outer edge, a flatter one its "
            "inner edge, so that metal only comes off.",
        ),
        "sink squish band": partial(
            barrel.band, kind="sink",
            words="The whole squish band is cut deeper at the angle it has. The gap grows by it all round.",
        ),
        "narrow squish band": partial(
            barrel.band, kind="narrow",
            words="The bowl's mouth is opened by a ring with straight walls. The band gets narrower, the chamber "
            "bigger; the gap stays.",
        ),
        "open bowl": partial(
            barrel.band, kind="bowl",
            words="Metal is taken evenly out of the bowl, and none off the band. The chamber gets bigger; the gap "
            "stays.",
        ),
        "raise exhaust roof": partial(ports.raise_roof, port="exhaust"),
        "lower exhaust floor": partial(ports.lower_floor, port="exhaust"),
        "square exhaust floor corners": ports.square_corners,
        "widen exhaust": partial(ports.widen, port="exhaust"),
        "add auxiliary exhausts": ports.auxiliary,
        "raise transfer roof": ports.raise_transfers,
        "widen transfer": partial(ports.widen, port="transfer"),
        "open boost port": ports.boost,
        "lower intake floor": partial(
            ports.lower_floor, port="intake", crown="the skirt's end at top dead centre lies above this floor"
        ),
        "raise intake roof": partial(ports.raise_roof, port="intake"),
        "widen intake": partial(ports.widen, port="intake"),
        "trim skirt": partial(
            barrel.skirt,
            words="The bottom of the skirt is taken off on one side. On the intake side the port opens earlier and "
            "closes later, by the same amount at both ends. The piston gets lighter.",
        ),
        "cut piston window": ports.window_in_piston,
        "fit reed": partial(
            breathing.tract, what="reed",
            words="A reed block stands between crankcase and carburettor. Its petals open when the pressure behind "
            "them falls; the piston's edge no longer decides.",
        ),
        "fit other reed block": partial(
            breathing.tract, what="reed",
            words="Another reed block takes the place of the one that is fitted. Its petals must clear the crank.",
        ),
        "fit other petals": partial(
            breathing.tract, what="petals",
            words="Other petals are screwed onto the block that is fitted: stiffer ones follow at higher speed, softer "
            "ones open more easily at low speed.",
        ),
        "fit other carburettor": partial(
            breathing.tract, what="carburettor",
            words="Another carburettor takes the place of the one that is fitted. Its bore, length and mouth all "
            "count.",
        ),
        "change tract length": partial(
            breathing.tract, what="length",
            words="A piece of the intake between engine and mouth gets longer or shorter; the diameters at its ends "
            "stay.",
        ),
        "change pipe length": partial(
            breathing.pipe, what="length",
            words="One section of the pipe gets longer or shorter; here the header. A shorter pipe works at higher "
            "speed.",
        ),
        "swap pipe section": partial(
            breathing.pipe, what="section",
            words="One section of the pipe is replaced by another; here the stinger. Its ends must fit the neighbours.",
        ),
        "swap pipe": partial(
            breathing.pipe, what="whole",
            words="The whole pipe is replaced by another, from the cylinder's exhaust face to the open end.",
        ),
        "change ignition advance": partial(
            breathing.spark,
            words="The spark comes some degrees before top dead centre. Earlier is further back against the turning of "
            "the engine.",
        ),
        "change mixture": partial(
            breathing.mixture, left="air", right="fuel", shares=(1.0, 0.3),
            words="The mixture is the mass of air for one mass of fuel: less is richer, more is leaner. Shown not to "
            "scale.",
        ),
        "change fuel": partial(
            breathing.mixture, left="today", right="more octane", shares=(0.7, 0.9),
            words="Fuel of a higher octane number bears more compression and an earlier spark before it knocks.",
        ),
        "change oil in petrol": partial(
            breathing.mixture, left="petrol", right="oil", shares=(1.0, 0.12),
            words="Oil is mixed into the petrol: parts of petrol to one part of oil. Shown not to scale.",
        ),
        "change gearing": partial(
            breathing.gearing,
            words="The final drive is the teeth of the rear over those of the front sprocket. A bigger rear sprocket "
            "turns the engine faster at the same road speed.",
        ),
    }
)  # fmt: skip

OPERATIONS_DRAWN = tuple(_DRAWN)
"""Names of all operations that have a drawing."""


def file_name(operation: str) -> str:
    """The name of an operation's picture, without its ending.

    >>> file_name("raise exhaust roof")
    'raise-exhaust-roof'
    """
    return operation.replace(" ", "-")


def operation_drawing(operation: str) -> Drawing:
    """The drawing of an operation. Raises SheetError for one without a drawing.

    >>> operation_drawing("face head").title
    'Face head'
    """
    if operation not in _DRAWN:
        raise SheetError(f"there is no drawing of {operation!r}; there are: {', '.join(OPERATIONS_DRAWN)}")
    return _DRAWN[operation](file_name(operation), operation.capitalize())


def write_pictures(folder: Path) -> list[Path]:
    """Write every drawing as NAME.svg into a folder, which is made where it is missing."""
    folder.mkdir(parents=True, exist_ok=True)
    written = [folder / f"{file_name(name)}.svg" for name in OPERATIONS_DRAWN]
    for path, name in zip(written, OPERATIONS_DRAWN, strict=True):
        path.write_text(write_svg(operation_drawing(name)), encoding="utf-8")
    return written


if __name__ == "__main__":
    for path in write_pictures(Path(sys.argv[1])):
        print(path)
