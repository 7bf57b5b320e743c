"""The life of an invented cylinder, for tests of its history: bought, planned, decked, driven, filed."""

from pathlib import Path

from scribeline.plan.phrases import read_step
from scribeline.plan.steps import Plan
from scribeline.tasks.ledger import note_sheets, write_lesson
from scribeline.tasks.ledger_beside import set_revision_beside, set_trial_beside
from scribeline.tasks.ledger_predicting import keep_plan_predictions, keep_prediction
from scribeline.tasks.notebook import attach_files, keep_record
from scribeline.tasks.trials import add_files, new_trial
from tests.examples import text_of

KART, SQUISH_SET = "club-kart-98", "club-kart-98-squish-set"
DECKED = Plan((read_step("deck barrel top: 0.65 mm"),), name="squish first")


def lived(folder: Path, build: str = "kart", where: Path | None = None) -> Path:
    """A build with three revisions, a plan that held, a gate time that did not, and the trial "saturday".

    folder : for the files that are taken in. where : the notebook; None makes one in the folder
    """
    where = where or folder / "notebook.sqlite"

    def kept(text: str, note: str) -> None:
        path = folder / "engine.toml"
        path.write_text(text)
        keep_record(path, build=build, author="Kim", note=note, where=where)

    kept(text_of(KART), "as bought")
    keep_plan_predictions(build, DECKED, author="Kim", where=where)
    note_sheets(build, ["bore wrap", "cut list"], author="Kim", where=where)
    kept(text_of(SQUISH_SET), "0.65 mm off the top")
    set_revision_beside(build, author="Kim", where=where)
    keep_prediction(build, "25 to 50 km/h", 8.2, 7.6, 8.8, "s", quantity="gate time", author="Kim", where=where)
    keep_prediction(build, "top speed", 82.0, 76.0, 88.0, "km/h", author="Kim", where=where)
    new_trial("saturday", build=build, note="dry", author="Kim", where=where)
    runs = folder / "runs.csv"
    runs.write_text("setup;run;25-50 km/h\nset;1;9,4\nset;2;9,5\nset;3;9,6\n")
    add_files("saturday", [runs], author="Kim", where=where)
    set_trial_beside(build, "saturday", author="Kim", where=where)
    write_lesson(build, "Solder <in> four places first.", author="Kim", where=where)
    attach_files(build, [runs], where=where)
    kept(text_of(SQUISH_SET).replace("value = 28.45", "value = 27.45"), "roof raised")
    return where
