"""In which order an engine is measured: stations, one to each page of the how-to guide, each with its places.

A place is a dotted path of the record's own fields; ``*`` stands for every field of a part, or for each of a list. A
test holds the places to the record: every field has one station and no more.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class StationPlan:
    """One station.

    places : groups of places, each with its heading; "" for none
    howto : the page of docs/howto that shows how
    pictures : drawings that show how it is measured, from `marking.measuring_views`
    shows : what is shown while no field is chosen, as `measuring_pictures` names it; else the first of `pictures`
    """

    key: str
    title: str
    about: str
    places: tuple[tuple[str, tuple[str, ...]], ...]
    howto: str = ""
    pictures: tuple[str, ...] = ()
    shows: tuple[str, str] = ("", "")


STATION_PLANS = (
    StationPlan(
        "engine",
        "The engine",
        "What it is called, and the speed its figures are for.",
        (("", ("name", "note", "speed_rpm", "cylinder.count", "cylinder.cooling", "cylinder.bore_surface")),),
        "start-a-record",
    ),
    StationPlan(
        "bottom-end",
        "Bottom end",
        "Crank, rod and bore: everything else hangs on these.",
        (
            ("Crank and rod", ("crank.stroke_mm", "crank.rod_length_mm", "crank.pin_offset_mm")),
            ("Bore", ("cylinder.bore_mm",)),
        ),
        "measure-bottom-end",
        ("rod-length", "bore"),
    ),
    StationPlan(
        "deck",
        "Deck",
        "The barrel's top face: every height of a port is counted from it.",
        (("", ("cylinder.deck_clearance_at_tdc_mm", "cylinder.deck_height_mm")),),
        "measure-deck",
        ("deck-clearance",),
    ),
    StationPlan(
        "gaskets",
        "Gaskets",
        "The sheets that are fitted while the rest is measured.",
        (("", ("gaskets.base.*", "gaskets.head.*")),),
        "measure-gaskets",
        shows=("engine", "base gasket"),
    ),
    StationPlan(
        "piston",
        "Piston",
        "Crown, rings and skirt, counted from the crown's edge.",
        (
            ("Crown", ("piston.crown", "piston.dome_height_mm", "piston.deflector_volume_cc",
                       "piston.crown_chamfer_mm", "piston.compression_height_mm")),
            ("Rings", ("piston.top_ring_from_crown_mm", "piston.lowest_ring_from_crown_mm",
                       "cylinder.ring_pegs_deg")),
            ("Skirt", ("piston.skirt_exhaust_side_mm", "piston.skirt_intake_side_mm", "piston.mass_g")),
            ("", ("piston.openings.*",)),
        ),
        "measure-piston",
        ("skirt-length",),
    ),
    StationPlan(
        "squish",
        "Squish",
        "Solder squeezed between crown and head.",
        (
            ("Solder", ("squish.head_gasket_fitted", "squish.solder_diameter_mm", "squish.solder_folds")),
            ("", ("squish.readings.*",)),
        ),
        "measure-squish",
        ("squish",),
    ),
    StationPlan(
        "chamber",
        "Chamber",
        "Its volume, filled on the bench or on the engine, and the squish band.",
        (
            ("Volume", ("head.chamber_on_bench_cc", "head.clearance_on_engine_cc", "head.plug_thread_cc")),
            ("Squish band", ("head.squish_outer_mm", "head.squish_inner_mm", "head.band_angle_deg",
                             "head.crown_angle_deg", "head.band_recess_mm")),
            ("Worked out from its shape", ("head.shape.*",)),
        ),
        "measure-chamber",
        ("head-volume",),
    ),
    StationPlan(
        "wheel",
        "Degree wheel",
        "Only where port timing is read in crank degrees; heights alone are enough.",
        (("", ("degree_wheel.*",)),),
        "measure-port-timing",
        ("degree-wheel",),
    ),
    StationPlan(
        "ports",
        "Ports",
        "Each port once, a pair of twins once. Height or degrees: whichever you measured, the other appears.",
        (("", ("ports.*",)),),
        "measure-port-heights",
        ("port-height", "port-width"),
    ),
    StationPlan(
        "crankcase",
        "Crankcase",
        "One of the three is enough; two are compared.",
        (
            ("Filled", ("crankcase.volume_at_bdc_cc", "crankcase.volume_at_tdc_cc")),
            ("Estimated from its dimensions", ("crankcase.estimate.*",)),
        ),
        "measure-crankcase",
        ("crankcase-volume",),
    ),
    StationPlan(
        "intake",
        "Intake",
        "What opens it, and the way from the air box to the engine.",
        (
            ("", ("intake.control", "intake.carburettor_bore_mm", "intake.airbox_cc")),
            ("Reed block", ("intake.reed.*",)),
            ("Rotary disc", ("intake.disc.*",)),
            ("", ("intake.tract.*",)),
        ),
        "measure-intake",
        ("intake-parts",),
    ),
    StationPlan(
        "pipe",
        "Exhaust pipe",
        "Section by section, from the cylinder's exhaust face to the open end.",
        (("", ("exhaust.sections.*",)),),
        "measure-exhaust-pipe",
        ("pipe-sections",),
    ),
    StationPlan(
        "spark-and-fuel",
        "Spark and fuel",
        "When the spark comes, and what is in the tank.",
        (
            ("Ignition", ("ignition.advance_deg",)),
            ("", ("ignition.table.*",)),
            ("Fuel", ("fuel.*",)),
        ),
        "measure-ignition-and-fuel",
    ),
    StationPlan(
        "road",
        "Drive and vehicle",
        "From the crank to the road; only needed for speeds, and for power from test runs.",
        (("Drive", ("drivetrain.*",)), ("Vehicle", ("vehicle.*",))),
        "measure-drive-and-vehicle",
        ("rolling-circumference",),
    ),
    StationPlan(
        "studs",
        "Studs",
        "For gaskets that are drawn to be cut; nothing else needs them.",
        (("Studs of the barrel's foot", ("cylinder.base_studs.*",)), ("Studs of the head", ("head.studs.*",))),
        shows=("from-above", "circle_diameter_mm"),
    ),
)  # fmt: skip


PORT_GROUPS = (
    ("", ("name", "role", "clock_deg", "mirrored", "trust")),
    ("roof", ("roof_from_deck_mm", "roof_opens_deg_atdc", "roof_closes_deg_atdc", "roof_from_crown_tdc_mm",
              "roof_from_crown_bdc_mm")),
    ("floor", ("floor_from_deck_mm", "floor_opens_deg_atdc", "floor_closes_deg_atdc", "floor_from_crown_tdc_mm",
               "floor_from_crown_bdc_mm")),
    ("width and corners", ("width_chord_mm", "width_arc_mm", "roof_corner_radius_mm", "floor_corner_radius_mm",
                           "bridge_mm", "outline_mm", "outline_plus_minus_mm")),
    ("passage", ("roof_angle_deg", "passage_length_mm", "passage_area_mm2", "exit_area_mm2")),
)  # fmt: skip
"""A port has too many fields for one heading."""
