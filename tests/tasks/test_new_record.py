import os
import stat
import tomllib
from pathlib import Path

import pytest

from scribeline.engine import Measured, read_record, read_record_file
from scribeline.errors import RecordError
from scribeline.tasks import new_record
from scribeline.tasks.new_record import Conversation, load_part, part_of, save_part, set_aside, write_new
from tests.engine.samples import SOUND
from tests.tasks.builder import begun, finish

SAMPLE = tomllib.loads(SOUND)

# A whole conversation: what is typed, and the beginning of what is replied where anything is.
SCRIPT: list[tuple[str, str]] = [
    ("Barn find", ""),
    ("", ""),  # no note
    ("9.500", "“9.500” is refused: 9.500 could be"),
    ("9500", ""),
    # crank
    ("2 in", "= 50.800 ± 0.050 mm"),
    ("", "An answer is needed here."),
    ("3 15/16 in ± 0.004 in", "= 100.01 ± 0.10 mm"),
    ("-", ""),  # no pin offset
    # cylinder
    ("1,85 in", "= 46.990 ± 0.010 mm"),
    ("<", ""),  # back to the bore
    ("50,02", "= 50.020 ± 0.010 mm"),
    ("0.6 ± 0.03", "= 0.600 ± 0.030 mm"),
    (">", ""),  # the rest of the cylinder
    (">", ""),  # no base gasket
    ("0,8", "= 0.800 ± 0.010 mm"),
    ("0.7", ""),
    ("copper", ""),
    ("", ""),  # no second sheet
    # piston
    ("d", "“d” is refused: it could be dome or deflector"),
    ("dome", "= dome"),
    ("2.5", ""),
    (">", ""),
    # head: a shape instead of a burette, taken back and left out again
    ("", ""),
    ("", ""),
    ("y", ""),
    ("bowl", "= bowl"),
    ("<", ""),
    ("<", ""),
    ("-", ""),
    ("", ""),
    ("34", ""),
    ("9°", "= 9.0° ± 1.0°"),
    ("", ""),
    ("", ""),
    ("", ""),  # no studs
    # squish and wheel
    ("y", ""),
    ("y", ""),
    ("2", ""),
    ("", ""),  # one strand
    ("0", ""),
    ("-0.3", "“-0.3” is refused: -0.3 mm is outside the accepted range\n    accepted: 0.05 to 8 mm"),
    ("1.4", ""),
    ("180", ""),
    ("1.5", ""),
    ("", ""),  # no third reading
    ("y", ""),
    ("zeroed", "= zeroed"),
    # ports
    ("exhaust", ""),
    ("exhaust", "= exhaust"),
    ("0", ""),
    ("1", "= straight across with a caliper"),
    ("32", ""),
    ("1 4", "= down from the barrel's top face, degree wheel, while the port opens"),
    ("29.0", ""),
    ("91½", "= 91.5° ± 1.0°"),
    ("1", "= down from the barrel's top face"),
    ("51.3", ""),
    ("2", "= wheel"),
    (">", ""),
    ("transfer", ""),
    ("3", "= transfer"),
    ("75", ""),
    ("yes", ""),  # a mirrored pair
    ("3", "= a free outline, point by point"),
    ("-6 38", ""),
    ("6", "“6” is refused: it is not two numbers"),
    ("6 38", ""),
    ("0 51,2", ""),
    ("", ""),  # no fourth point
    ("0.3", ""),
    ("", ""),  # the outline has the roof
    ("", ""),  # and the floor
    (">", ""),
    ("", ""),  # no third port
    ("240 cc ± 5 cc", "= 240.0 ± 5.0 cc"),
    ("", ""),
    ("y", ""),
    ("reed", "= reed"),
    ("4", ""),
    ("30", ""),
    ("20", ""),
    ("0.4", ""),
    ("3", "= steel"),
    (">", ""),  # `>` stops at what is needed
    ("500", ""),
    ("24", ""),
    ("", ""),  # no tract
    ("", ""),
    ("y", ""),
    ("240", ""),
    ("34", ""),
    ("38", ""),
    (">", ""),
    ("", ""),
    ("", ""),  # no single advance: a table
    ("3000", ""),
    ("22", ""),
    ("9000 rpm", ""),
    ("16", ""),
    ("", ""),
    ("98", ""),
    ("25:1", "= 25"),
    ("", ""),
    ("", ""),
    ("2.46", ""),
    ("1,88", ""),
    ("", ""),
    (">", ""),
    ("335 lb", "= 152.0 ± 1.0 kg"),
    (">", ""),
]

EXPECTED = """
scribeline_record = 1
name = "Barn find"
speed_rpm = 9500
[crank]
stroke_mm = { value = 50.8, typed = "2 in" }
rod_length_mm = { value = 100.0125, plus_minus = 0.1016, typed = "3 15/16 in ± 0.004 in" }
[cylinder]
bore_mm = { value = 50.02, typed = "50,02" }
deck_clearance_at_tdc_mm = { value = 0.6, plus_minus = 0.03 }
[gaskets]
head = [{ nominal_mm = { value = 0.8, typed = "0,8" }, compressed_mm = 0.7, material = "copper" }]
[piston]
crown = "dome"
dome_height_mm = 2.5
[head]
squish_inner_mm = 34
band_angle_deg = { value = 9, typed = "9°" }
[squish]
head_gasket_fitted = true
solder_diameter_mm = 2
readings = [{ clock_deg = 0, gap_mm = 1.4 }, { clock_deg = 180, gap_mm = 1.5 }]
[degree_wheel]
readings = "zeroed"
[[ports]]
name = "exhaust"
role = "exhaust"
clock_deg = 0
width_chord_mm = 32
roof_from_deck_mm = 29
roof_opens_deg_atdc = { value = 91.5, typed = "91½" }
floor_from_deck_mm = 51.3
trust = "wheel"
[[ports]]
name = "transfer"
role = "transfer"
clock_deg = 75
mirrored = true
outline_mm = [[-6, 38], [6, 38], [0, 51.2]]
outline_plus_minus_mm = 0.3
[crankcase]
volume_at_bdc_cc = { value = 240, plus_minus = 5 }
[intake]
control = "reed"
carburettor_bore_mm = 24
[intake.reed]
petals = 4
petal_length_mm = 30
petal_width_mm = 20
petal_thickness_mm = 0.4
material = "steel"
block_area_mm2 = 500
[exhaust]
sections = [{ length_mm = 240, start_mm = 34, end_mm = 38 }]
[ignition]
table = [{ rpm = 3000, advance_deg = 22 }, { rpm = 9000, advance_deg = 16 }]
[fuel]
octane_ron = 98
petrol_per_oil = { value = 25, typed = "25:1" }
[drivetrain]
gears = [2.46, 1.88]
[vehicle]
mass_with_rider_kg = { value = 151.95344395, typed = "335 lb" }
"""
"""By hand: 2 in = 50.8 mm; 3 15/16 in = 63/16 * 25.4 mm; 0.004 in = 0.1016 mm; 335 lb = 335 * 0.45359237 kg."""


def test_a_whole_conversation_gives_the_record_it_should() -> None:
    conversation = Conversation()
    for number, (typed, reply) in enumerate(SCRIPT):
        question = conversation.question
        assert question is not None, f"nothing is asked any more before {SCRIPT[number:]}"
        said = conversation.say(typed)
        begins_as_expected = said.startswith(reply) if reply else said == ""
        assert begins_as_expected, f"{question.place}: {typed!r} is answered with {said!r}"
    assert conversation.question is None
    assert conversation.record() == read_record(EXPECTED)
    assert conversation.say("more?") == "There is nothing left to ask."


def finished() -> Conversation:
    conversation = begun(SAMPLE, "vehicle.drag_area_m2")
    conversation.say("")
    return conversation


def place(conversation: Conversation) -> str:
    assert conversation.question is not None
    return conversation.question.place


def test_going_back_offers_what_was_typed_and_enter_keeps_it() -> None:
    conversation = begun(SAMPLE, "crank.pin_offset_mm")
    assert conversation.say("<") == ""
    assert place(conversation) == "crank.rod_length_mm"
    assert conversation.offered == "100.0"
    assert conversation.say("<") == ""
    assert (place(conversation), conversation.offered) == ("crank.stroke_mm", "50.0")
    conversation.say("")
    assert (place(conversation), conversation.offered) == ("crank.rod_length_mm", "100.0")
    conversation.say("105")
    assert (place(conversation), conversation.offered) == ("crank.pin_offset_mm", None)
    assert conversation.answers["crank.stroke_mm"] == "50.0"
    assert conversation.answers["crank.rod_length_mm"] == "105"
    assert conversation.earlier == {}


def test_going_back_to_a_word_asks_that_question_only() -> None:
    conversation = begun(SAMPLE, "squish")
    before = dict(conversation.answers)
    assert conversation.say("< BORE") == ""
    assert place(conversation) == "cylinder.bore_mm"
    conversation.say("50.1")
    assert place(conversation) == "squish"
    assert conversation.answers == {**before, "cylinder.bore_mm": "50.1"}
    assert conversation.say("< camshaft") == "No question before this one is about “camshaft”."
    assert place(conversation) == "squish"


def test_there_is_nothing_before_the_first_question() -> None:
    assert Conversation().say("<") == "This is the first question."


def test_an_answer_that_is_changed_keeps_what_hung_on_it() -> None:
    """A crown called flat by mistake: its dome height is not asked, and is there again when that is put right."""
    conversation = begun(SAMPLE, "head.chamber_on_bench_cc")
    conversation.say("< piston crown")
    conversation.say("flat")
    assert "dome_height_mm" not in conversation._standing.engine["piston"]
    assert conversation.answers["piston.dome_height_mm"] == "2.5"
    conversation.say("< piston crown")
    conversation.say("dome")
    assert conversation._standing.engine["piston"]["dome_height_mm"] == 2.5


def test_a_dash_leaves_out_what_was_taken_back() -> None:
    conversation = begun(SAMPLE, "cylinder.bore_mm")
    conversation.say("<")
    assert conversation.offered == "0.5"
    assert conversation.say("-") == ""
    assert conversation.answers["crank.pin_offset_mm"] == ""
    assert place(conversation) == "cylinder.bore_mm"
    assert conversation.say("-").startswith("An answer is needed here.\n    accepted: 10 to 200 mm")


def test_leaving_out_the_rest_stops_at_what_is_needed_and_at_the_end_of_the_part() -> None:
    conversation = begun(SAMPLE, "crank.stroke_mm")
    assert conversation.say(">") == "This one is needed."
    assert place(conversation) == "crank.stroke_mm"
    conversation = begun(SAMPLE, "piston.crown")
    conversation.say("flat")
    assert conversation.say(">") == ""
    assert place(conversation) == "head.chamber_on_bench_cc"
    conversation = begun(SAMPLE, "squish")
    assert conversation.say(">") == ""
    assert place(conversation) == "degree_wheel"


def test_a_question_mark_explains_more() -> None:
    conversation = begun(SAMPLE, "ports.1.roof_from_deck_mm")
    more = conversation.say("?")
    assert "Heights: from the barrel's deck down" in more
    assert "Accepted: 0 to 300 mm; ± 0.15 mm unless you type another (caliper in the bore)" in more
    assert "1 27/32 in" in more
    assert new_record.COMMANDS in more
    assert place(conversation) == "ports.1.roof_from_deck_mm"


def test_bytes_that_are_no_text_are_refused() -> None:
    conversation = Conversation()
    assert conversation.say(b"K\xe4rt".decode("utf-8", "surrogateescape")).startswith("That is no text")
    assert place(conversation) == "name"


def test_what_no_engine_can_be_is_asked_again() -> None:
    last = begun(SAMPLE, "vehicle.drag_area_m2", {"crank.rod_length_mm": "24"})
    reply = last.say("")
    assert reply == (
        "crank, 2 of 3: rod length = 24\n"
        "    accepted: more than half the stroke plus the pin offset, 25.5 mm\n"
        "    what to do: measure the rod from eye centre to eye centre and check the stroke\n"
        "These are asked again; Enter keeps what you typed, < goes back to others."
    )
    assert (place(last), last.offered) == ("crank.rod_length_mm", "24")
    with pytest.raises(RecordError, match=r"crank\.rod_length_mm = nothing"):
        last.record()
    assert last.say("").startswith("crank, 2 of 3: rod length = 24")
    assert last.say("100") == ""
    assert last.question is None
    assert last.record() == read_record(SOUND)


def test_several_findings_are_asked_again_in_the_order_of_their_questions() -> None:
    last = begun(SAMPLE, "vehicle.drag_area_m2", {"ports.1.bridge_mm": "30", "head.shape.corner_radius_mm": "12.5"})
    last.answers["ports.1.width_chord_mm"] = "29"
    reply = last.say("")
    assert reply.count("accepted:") == 2
    assert "port 1 (exhaust), 15 of 19: bridge = 30" in reply
    assert place(last) == "head.shape.corner_radius_mm"
    last.say("6")
    assert place(last) == "ports.1.bridge_mm"
    last.say("2")
    assert last.question is None


def test_a_missing_intake_port_can_be_added_where_its_lack_is_found() -> None:
    last = begun(SAMPLE, "vehicle.drag_area_m2", {"ports.4.role": "blind"})
    reply = last.say("")
    assert 'what opens the intake? = "piston port"' in reply
    assert place(last) == "ports.5.name"
    for typed in ("inlet", "intake", "180", "1", "30", "1", "55", "1", "72", "", "", "", "", "", "", ""):
        last.say(typed)
    assert place(last) == "ports.6.name"
    last.say("")
    assert place(last) == "intake.control"
    last.say("")
    assert last.question is None
    assert last.record().ports[-1].role == "intake"


def test_a_finding_about_a_whole_port_asks_for_all_of_it_again() -> None:
    last = begun(SAMPLE, "vehicle.drag_area_m2", {"ports.2.name": "exhaust"})
    assert 'port 2, 1 of 13: name = "exhaust"' in last.say("")
    assert place(last) == "ports.2.name"
    last.say("transfer")
    assert last.record() == read_record(SOUND)


def test_everything_typed_is_kept_and_gone_on_from(tmp_path: Path) -> None:
    path = tmp_path / "my engine.toml"
    conversation = begun(SAMPLE, "ports.2.name", {"name": 'Kart "98" # ± é'})
    conversation.say("<")
    save_part(conversation, path)
    loaded = load_part(path)
    assert loaded == conversation
    assert loaded is not None
    assert place(loaded) == place(conversation)
    assert loaded.offered == conversation.offered
    assert os.listdir(tmp_path) == ["my engine.toml.part"]


@pytest.mark.parametrize("stopped_at", ["note", "crank.stroke_mm", "ports.3.outline_mm.3", "ignition.table.2.rpm"])
def test_a_conversation_may_stop_after_any_answer(stopped_at: str, tmp_path: Path) -> None:
    path = tmp_path / "engine.toml"
    save_part(begun(SAMPLE, stopped_at), path)
    again = load_part(path)
    assert again is not None
    assert place(again) == stopped_at
    finish(again, SAMPLE)
    assert again.record() == read_record(SOUND)


def test_where_nothing_was_begun_there_is_nothing_to_go_on_from(tmp_path: Path) -> None:
    assert load_part(tmp_path / "engine.toml") is None


@pytest.mark.parametrize(
    "text", ["not toml", "", "answers = 1\nearlier = 2", "[answers]\nname = 5\n[earlier]", "answers = []\nearlier = []"]
)
def test_kept_answers_that_cannot_be_read_are_refused_and_stay(text: str, tmp_path: Path) -> None:
    path = tmp_path / "engine.toml"
    part_of(path).write_text(text)
    with pytest.raises(RecordError, match="move it away, then start again"):
        load_part(path)
    assert part_of(path).read_text() == text


def test_kept_answers_of_no_possible_engine_are_asked_again(tmp_path: Path) -> None:
    """As an older version may have kept them, that did not know what was wrong."""
    path = tmp_path / "engine.toml"
    conversation = finished()
    conversation.answers["crank.rod_length_mm"] = "24"
    save_part(conversation, path)
    loaded = load_part(path)
    assert loaded is not None
    assert place(loaded) == "crank.rod_length_mm"


def test_answers_set_aside_keep_a_name_of_their_own(tmp_path: Path) -> None:
    path = tmp_path / "engine.toml"
    for number in (1, 2):
        part_of(path).write_text(str(number))
        assert set_aside(path) == tmp_path / f"engine.toml.part.{number}"
    assert not part_of(path).exists()
    assert (tmp_path / "engine.toml.part.1").read_text() == "1"


def test_the_record_is_written_with_comments_and_the_kept_answers_go(tmp_path: Path) -> None:
    path = tmp_path / "engine.toml"
    conversation = finished()
    save_part(conversation, path)
    write_new(conversation, path, overwrite=False)
    assert read_record_file(path) == read_record(SOUND)
    assert "# across the bore, below the ring's reversal" in path.read_text()
    assert os.listdir(tmp_path) == ["engine.toml"]
    umask = os.umask(0)
    os.umask(umask)
    assert stat.S_IMODE(path.stat().st_mode) == 0o666 & ~umask


def test_a_file_that_is_there_is_overwritten_only_where_that_is_wanted(tmp_path: Path) -> None:
    path = tmp_path / "engine.toml"
    path.write_text("precious")
    conversation = finished()
    save_part(conversation, path)
    with pytest.raises(RecordError, match="a name that is free"):
        write_new(conversation, path, overwrite=False)
    assert path.read_text() == "precious"
    assert part_of(path).exists()
    write_new(conversation, path, overwrite=True)
    assert read_record_file(path).name == "Bench sample"


def test_an_unfinished_conversation_is_not_written(tmp_path: Path) -> None:
    path = tmp_path / "engine.toml"
    with pytest.raises(RecordError, match=r"crank\.stroke_mm = nothing"):
        write_new(begun(SAMPLE, "crank.stroke_mm"), path, overwrite=True)
    assert not path.exists()


def test_what_cannot_be_written_is_refused(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="a file name in a folder that is there"):
        new_record.refuse_unwritable(tmp_path)
    with pytest.raises(RecordError, match="a file name in a folder that is there"):
        new_record.refuse_unwritable(tmp_path / "nowhere" / "engine.toml")
    new_record.refuse_unwritable(tmp_path / "engine.toml")
    with pytest.raises(RecordError, match="No such file or directory: choose another"):
        save_part(Conversation({"name": "x"}), tmp_path / "nowhere" / "engine.toml")
    with pytest.raises(RecordError, match="File name too long: choose another"):
        save_part(Conversation({"name": "x"}), tmp_path / ("x" * 300))


def test_a_crash_while_saving_leaves_the_answers_kept_before(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "engine.toml"
    save_part(Conversation({"name": "first"}), path)

    def crash(_: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", crash)
    with pytest.raises(KeyboardInterrupt):
        save_part(Conversation({"name": "second"}), path)
    kept = load_part(path)
    assert kept is not None
    assert kept.answers == {"name": "first"}
    assert os.listdir(tmp_path) == ["engine.toml.part"]


def test_a_bare_number_stays_bare_in_the_file(tmp_path: Path) -> None:
    conversation = finished()
    path = tmp_path / "engine.toml"
    write_new(conversation, path, overwrite=False)
    assert tomllib.loads(path.read_text())["cylinder"]["bore_mm"] == 50.0
    assert conversation.record().cylinder.bore_mm == Measured(value=50.0)
