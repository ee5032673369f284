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


RISK = [
    "risk", "--lower", "1499.8", "--upper", "1500.2", "--acceptance-lower", "1499.82",
    "--acceptance-upper", "1500.18", "--nominal", "1500", "--process-u", "0.12",
    "--measurement-u", "1/25",
]  # fmt: skip


def test_risk(capsys: pytest.CaptureFixture[str]) -> None:
    """The figures of JCGM 106:2012, clause 9 (tests/reference/test_engine_risk.py)."""
    assert main(RISK) == 0
    assert json.loads(capsys.readouterr().out) == {
        "consumer_risk": "0.00988",
        "producer_risk": "0.06903",
        "sentence": "Of 10,000 pieces, about 99 would be accepted though outside the tolerance "
        "limits, and about 690 rejected though within them.",
    }


def test_risk_with_one_limit(capsys: pytest.CaptureFixture[str]) -> None:
    given = ["risk", "--upper=-1/8", "--acceptance-upper=-1/8", "--nominal=-0.5"]
    assert main([*given, "--process-u=0.05", "--measurement-u=0.01"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["consumer_risk"] == "0.00000"
    assert "fewer than 1 would be accepted" in found["sentence"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["risk"], "required: --nominal, --process-u, --measurement-u"),
        ([*RISK, "--measurement-u", "0"], "--measurement-u: Write a number above 0."),
        ([*RISK, "--process-u", "nan"], "--process-u: 'nan' is no number: write a decimal or"),
        ([*RISK, "--acceptance-lower", "1501"], "--acceptance-lower: Write a lower limit below"),
        ([*RISK[:7], *RISK[9:]], "--acceptance-upper: Write both a tolerance and an acceptance"),
        ([RISK[0], *RISK[9:]], "--lower: Write a lower limit, an upper limit, or both."),
    ],
)
def test_risk_with_wrong_arguments(
    arguments: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as caught:
        main(arguments)
    assert caught.value.code == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert said in shown.err
