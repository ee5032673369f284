"""The command, run as people run it: without Django."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from assessments.engine import decide
from assessments.engine.cli import BAD_INPUT, DECIDED, NO_FILE, main
from tests.engine import builders

ROOT = Path(__file__).parents[2]
STANDARD = builders.standard(builders.checked())
OBSERVATIONS = builders.observations(builders.observation("A", {"answer": True}))


def written(folder: Path, name: str, document: Any) -> str:
    path = folder / name
    path.write_text(document if isinstance(document, str) else json.dumps(document), "utf-8")
    return str(path)


def test_prints_the_decision(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    paths = [written(tmp_path, "s.json", STANDARD), written(tmp_path, "o.json", OBSERVATIONS)]
    assert main(paths) == DECIDED == 0
    assert json.loads(capsys.readouterr().out) == decide(STANDARD, OBSERVATIONS)


def test_bad_input(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    good = written(tmp_path, "o.json", OBSERVATIONS)
    bad = written(tmp_path, "s.json", builders.standard(builders.checked(weight="0")))
    assert main([bad, good]) == BAD_INPUT == 3
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err == f"{bad}: criteria[0].weight: Write a number above 0.\n"
    broken = written(tmp_path, "broken.json", '{"cut": 0.5}')
    assert main([written(tmp_path, "s.json", STANDARD), broken]) == BAD_INPUT
    assert capsys.readouterr().err.startswith(f"{broken}: The number 0.5 is not exact.")


def test_no_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    gone = str(tmp_path / "gone.json")
    assert main([gone, gone]) == NO_FILE == 4
    assert gone in capsys.readouterr().err


def test_wrong_arguments(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as caught:
        main([])
    assert caught.value.code == 2
    assert "usage" in capsys.readouterr().err


def test_runs_without_django(tmp_path: Path) -> None:
    """In a process where importing Django, the database driver or scipy fails."""
    paths = [written(tmp_path, "s.json", STANDARD), written(tmp_path, "o.json", OBSERVATIONS)]
    code = (
        "import sys, runpy\n"
        "for name in ('django', 'psycopg', 'scipy', 'numpy'): sys.modules[name] = None\n"
        "runpy.run_module('assessments.engine', run_name='__main__')\n"
    )
    run = subprocess.run(
        [sys.executable, "-c", code, *paths], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert (run.returncode, run.stderr) == (0, "")
    assert json.loads(run.stdout)["result"] == "met"
