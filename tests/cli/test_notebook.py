import re
import subprocess
import sys
from pathlib import Path

import pytest
import typer.main
from typer.testing import CliRunner, Result

from scribeline.cli.notebook import app
from scribeline.errors import NotebookError, RecordError

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "club-kart-98.toml"


@pytest.fixture(autouse=True)
def where(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "notebook.sqlite"
    monkeypatch.setenv("SCRIBELINE_NOTEBOOK", str(path))
    return path


@pytest.fixture
def engine(tmp_path: Path) -> Path:
    path = tmp_path / "engine.toml"
    path.write_bytes(EXAMPLE.read_bytes())
    return path


def run(*arguments: object) -> Result:
    return CliRunner().invoke(app, [str(argument) for argument in arguments])


def ran(*arguments: object) -> str:
    """What a command prints that does its work."""
    result = run(*arguments)
    assert (result.exception, result.exit_code) == (None, 0), result.output
    return result.stdout


def lower_the_roof(engine: Path) -> None:
    engine.write_text(engine.read_text().replace("value = 29.1,", "value = 28.6,"))


def test_a_cylinders_life(engine: Path, tmp_path: Path) -> None:
    photo = tmp_path / "roof.jpg"
    photo.write_bytes(b"\xff\xd8\xff")
    first = ran(
        "keep", engine, "--build", "barrel 2", "--build-note", "from a swap", "--note", "as bought", "--author", "Kim"
    )
    assert first == "Kept as revision 1 of 'barrel 2', a new build.\n"
    lower_the_roof(engine)
    second = ran("keep", engine, "--build", "Barrel 2", "--note", "roof\nraised", "--attach", photo, "--author", "Ada")
    assert second.startswith(
        "Kept as revision 2 of 'barrel 2', made from revision 1.\nattached to revision 2: roof.jpg (image/jpeg, 3 b"
    )

    listed = ran("list").splitlines()
    assert listed[0].split() == ["build", "revisions", "files", "last", "kept", "note"]
    assert listed[1].split()[:4] == ["barrel", "2", "2", "1"]
    assert listed[1].endswith("UTC  from a swap")
    assert len(listed) == 2

    shown = ran("show", "barrel 2")
    assert shown.startswith("barrel 2, since 20")
    assert "from a swap\n" in shown
    assert [line.split()[0:2] for line in shown.splitlines() if line[:1].isdigit()] == [["1", "-"], ["2", "1"]]
    assert "Ada     roof raised\n" in shown
    assert "attached to revision 2: roof.jpg" in shown

    one = ran("show", "barrel 2", 1)
    assert one.startswith("barrel 2, revision 1\nkept 20")
    assert "by Kim\n" in one
    assert one.endswith("as bought\n\n" + EXAMPLE.read_text())
    assert "revision 2, made from revision 1\n" in ran("show", "barrel 2", 2)

    difference = ran("diff", "barrel 2").splitlines()
    assert difference[0] == "barrel 2: revision 1 -> 2"
    assert [line.split() for line in difference[2:]] == [
        ["field", "before", "after"],
        ["ports.exhaust.roof_from_deck_mm.value", "29.1", "28.6"],
    ]
    assert ran("diff", "barrel 2", 1, 1).endswith("The two records are identical.\n")


def test_the_record_comes_out_to_the_letter(engine: Path, tmp_path: Path) -> None:
    engine.write_bytes(engine.read_bytes().replace(b"\n", b"\r\n") + "# ±".encode())
    ran("keep", engine, "--build", "kart")
    for number in ([], [1]):
        assert run("show", "kart", *number, "--toml").stdout_bytes == engine.read_bytes()


def test_a_change_of_comments_is_told_from_a_change_of_fields(engine: Path) -> None:
    ran("keep", engine, "--build", "kart")
    engine.write_text(engine.read_text() + "# another comment\n")
    ran("keep", engine, "--build", "kart")
    assert "No field differs; the text does" in ran("diff", "kart")


def test_values_are_shown_as_toml_writes_them(engine: Path) -> None:
    ran("keep", engine, "--build", "kart")
    text = engine.read_text().replace('cooling = "air"', 'cooling = "water"')
    text = text.replace(
        "compression_height_mm = { value = 31.0, plus_minus = 0.05, with",
        "compression_height_mm = { value = 31.0, with",
    )
    engine.write_text(text.replace("crown_chamfer_mm = 0.2", "crown_chamfer_mm = { value = 0.2, plus_minus = 0.1 }"))
    ran("keep", engine, "--build", "kart")
    found = [line.split(maxsplit=1) for line in ran("diff", "kart").splitlines()[3:]]
    assert [(path, " ".join(values.split())) for path, values in found] == [
        ("cylinder.cooling", '"air" "water"'),
        ("piston.crown_chamfer_mm", "0.2 { value = 0.2, plus_minus = 0.1 }"),
        ("piston.compression_height_mm.plus_minus", "0.05 (not there)"),
    ]


def test_moving_house(engine: Path, tmp_path: Path, where: Path) -> None:
    ran("keep", engine, "--attach", engine)
    ran("attach", "club kart 98", engine)
    assert ran("export", tmp_path / "x.zip") == f"Wrote {tmp_path / 'x.zip'}: 1 build, 1 revision, 1 file.\n"
    other = tmp_path / "other.sqlite"
    assert "1 build, 1 revision, 1 file" in ran("import", tmp_path / "x.zip", "--notebook", other)
    assert ran("show", "club kart 98", "--notebook", other) == ran("show", "club kart 98", "--notebook", where)


def test_what_was_done_unasked_is_told_on_standard_error(where: Path) -> None:
    from tests.notebook.test_schema import an_old_notebook

    an_old_notebook(where)
    result = run("migrate")
    assert result.stdout == f"{where} has the tables of this program.\n"
    assert "A copy was made first: " in result.stderr
    assert run("migrate").stderr == ""


def test_refusals_come_from_below_as_they_are(engine: Path, tmp_path: Path) -> None:
    """`scribeline` itself prints them and ends with 2; nothing else is caught on the way."""
    assert isinstance(run("list").exception, NotebookError)
    ran("keep", engine)
    assert "identical to revision 1" in str(run("keep", engine).exception)
    engine.write_text(engine.read_text().replace("value = 50.0,", "value = -50.0,"))
    assert isinstance(run("keep", engine).exception, RecordError)
    assert "there is no such file" in str(run("import", tmp_path / "none.zip").exception)


def test_help_is_light_and_every_command_has_some() -> None:
    names = set(typer.main.get_command(app).commands)  # type: ignore[attr-defined]
    assert names == {"keep", "demonstration", "attach", "list", "show", "diff", "export", "import", "migrate"}
    program = (
        "import sys; from scribeline.cli.notebook import app; import typer.main\n"
        "for name, command in typer.main.get_command(app).commands.items(): assert len(command.help) > 20\n"
        "heavy = {'sqlalchemy', 'alembic', 'pydantic', 'numpy', 'scribeline.notebook'}\n"
        "print(sorted(heavy & sys.modules.keys()))"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True)
    assert (done.stdout, done.stderr) == ("[]\n", "")


def test_the_page_on_the_notebook_and_the_refusals_name_the_commands_there_are() -> None:
    names = set(typer.main.get_command(app).commands)  # type: ignore[attr-defined]
    root = Path(__file__).resolve().parents[2]
    page = (root / "docs" / "howto" / "keep-a-notebook.md").read_text()
    assert set(re.findall(r"scribeline notebook ([a-z]+)", page)) == names
    sources = [*(root / "src/scribeline/notebook").glob("*.py"), root / "src/scribeline/tasks/notebook.py"]
    told = {name for path in sources for name in re.findall(r"`scribeline notebook ([a-z]+)", path.read_text())}
    assert told <= names
    assert len(told) > 3
