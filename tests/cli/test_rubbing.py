"""`scribeline rubbing` from a file to a record, and its refusals."""

from pathlib import Path

from typer.testing import CliRunner

from scribeline.cli import app
from scribeline.engine import read_record_file
from scribeline.errors import RubbingError
from tests.examples import KART, path_of
from tests.rubbing.kart import pixels
from tests.rubbing.rendering import save

RUN = CliRunner()


def test_from_a_photograph_to_a_record_with_its_ports(tmp_path: Path) -> None:
    photo = save(pixels("sideways"), tmp_path / "photo.jpg")
    new = tmp_path / "new.toml"
    done = RUN.invoke(app, ["rubbing", str(photo), str(path_of(KART)), "-o", str(new), "--replace"])
    assert done.exit_code == 0, done.output
    assert "exhaust" in done.output
    assert (tmp_path / "photo-overlay.png").exists()
    exhaust = next(port for port in read_record_file(new).ports if port.name == "exhaust")
    assert exhaust.roof_from_deck_mm is not None
    assert abs(exhaust.roof_from_deck_mm.value - 28.6) < 0.15
    assert RUN.invoke(app, ["card", str(new)]).exit_code == 0


def test_a_picture_without_markers_is_refused_with_the_reason(tmp_path: Path) -> None:
    photo = save(pixels("sideways") * 0 + 200, tmp_path / "grey.jpg")
    done = RUN.invoke(app, ["rubbing", str(photo), str(path_of(KART))])
    assert isinstance(done.exception, RubbingError)
    assert "markers found; missing:" in str(done.exception)
    assert not (tmp_path / "grey-overlay.png").exists()
