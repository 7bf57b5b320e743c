import json
import subprocess
import sys
from pathlib import Path

import jsonschema

ROOT = Path(__file__).parents[2]


def scribeline(*arguments: str, cwd: Path = ROOT) -> subprocess.CompletedProcess[str]:
    command = [str(Path(sys.executable).with_name("scribeline")), *arguments]
    return subprocess.run(command, cwd=cwd, capture_output=True, text=True, timeout=120, check=False)


def test_check_says_that_a_record_is_sound() -> None:
    done = scribeline("check", "examples/reed-125.toml")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("examples/reed-125.toml: sound. ")


def test_check_prints_every_reason_at_once_and_ends_with_status_2() -> None:
    done = scribeline("check", "examples/careless.toml")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("examples/careless.toml: 34 problems\nline 8: speed_rpm = 95000\n")
    assert done.stderr.count("    accepted: ") == done.stderr.count("    what to do: ") == 34
    assert "Traceback" not in done.stderr


def test_check_of_no_file_ends_with_status_2(tmp_path: Path) -> None:
    done = scribeline("check", "nowhere.toml", cwd=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert "nowhere.toml" in done.stderr
    assert "No such file or directory: check the name" in done.stderr


def test_schema_prints_a_schema() -> None:
    done = scribeline("schema")
    assert (done.returncode, done.stderr) == (0, "")
    schema = json.loads(done.stdout)
    jsonschema.Draft202012Validator.check_schema(schema)
    assert schema["title"] == "EngineRecord"
