"""Scores as a file: what is written is read again, and nothing else is."""

from __future__ import annotations

import copy
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from assessments.engine.canonical import digest
from assessments.evidence.command import main
from assessments.evidence.errors import EvidenceError
from assessments.evidence.report import evidence_document
from assessments.evidence.score_document import read_scores, scores_document
from tests.evidence.review.builders import cohort, scores


def small() -> dict[str, Any]:
    return scores_document(cohort(6, 3, 2))


def test_what_is_written_is_read_to_the_last_place() -> None:
    there = cohort()
    document = json.loads(json.dumps(scores_document(there)))
    back = read_scores(document)
    for name in ("trainees", "items", "assessors", "results", "cut"):
        assert getattr(back, name) == getattr(there, name)
    for name in ("values", "applies", "alone", "minutes"):
        one, other = getattr(there, name), getattr(back, name)
        assert one.dtype == other.dtype
        assert np.array_equal(one, other, equal_nan=one.dtype == float)
    assert digest(scores_document(back)) == digest(document)


@pytest.mark.parametrize("shape", [(0, 2, 2), (2, 0, 2), (2, 2, 0)])
def test_empty_scores_keep_their_shape(shape: tuple[int, int, int]) -> None:
    back = read_scores(scores_document(scores(np.zeros(shape))))
    assert back.values.shape == shape


def test_tiny_numbers_are_no_powers_of_ten() -> None:
    document = scores_document(scores([[1e-7]]))
    assert document["values"] == [[["0.0000001"]]]
    assert read_scores(document).values[0, 0, 0] == 1e-7


def test_fractions_are_read() -> None:
    document = small()
    document["cut"] = "2/3"
    assert read_scores(document).cut == 2 / 3


BAD = [
    (("schema",), "bankermark/scores/2", "schema"),
    (("trainees",), "T1", "trainees"),
    (("trainees", 1), "T0", "trainees[1]"),
    (("trainees", 1), 7, "trainees[1]"),
    (("assessors", 0), " ", "assessors[0]"),
    (("items", 0), [], "items[0]"),
    (("items", 0, "weight"), "0", "items[0].weight"),
    (("items", 0, "weight"), "-1", "items[0].weight"),
    (("items", 0, "weight"), 1, "items[0].weight"),
    (("items", 0, "weight"), "1/0", "items[0].weight"),
    (("items", 0, "levels"), ["1"], "items[0].levels"),
    (("items", 0, "levels"), ["1", "0"], "items[0].levels"),
    (("items", 0, "critical"), 1, "items[0].critical"),
    (("items", 1, "key"), "C0", "items[1]"),
    (("values",), [], "values"),
    (("values", 2, 1), ["1"], "values[2][1]"),
    (("values", 2, 1, 0), "1.2", "values[2][1][0]"),
    (("values", 2, 1, 0), 0.5, "values[2][1][0]"),
    (("values", 2, 1, 0), "nan", "values[2][1][0]"),
    (("values", 2, 1, 0), "1e3", "values[2][1][0]"),
    (("values", 2, 1, 0), "٠", "values[2][1][0]"),
    (("values", 2, 1, 0), True, "values[2][1][0]"),
    (("applies", 0, 0), None, "applies[0][0]"),
    (("alone", 0, 0), "yes", "alone[0][0]"),
    (("minutes", 0, 0), "-3", "minutes[0][0]"),
    (("results", 0), "passed", "results[0]"),
    (("results",), ["met"], "results"),
    (("cut",), "2", "cut"),
    (("extra",), 1, "extra"),
    (("items", 0, "extra"), 1, "items[0].extra"),
]


@pytest.mark.parametrize(("path", "value", "named"), BAD)
def test_what_cannot_be_used_is_named(path: tuple[Any, ...], value: Any, named: str) -> None:
    document = copy.deepcopy(small())
    part: Any = document
    for step in path[:-1]:
        part = part[step]
    part[path[-1]] = value
    with pytest.raises(EvidenceError) as refused:
        read_scores(document)
    assert refused.value.path == named


@pytest.mark.parametrize("field", sorted(small()))
def test_every_field_is_needed(field: str) -> None:
    document = small()
    del document[field]
    with pytest.raises(EvidenceError, match=f"{field}: This field is missing"):
        read_scores(document)


@pytest.mark.parametrize("whole", [None, [], "x", 3])
def test_a_whole_that_is_no_object_is_refused(whole: Any) -> None:
    with pytest.raises(EvidenceError, match="An object"):
        read_scores(whole)


def test_a_stranger_comes_to_the_same_figures(tmp_path: Path) -> None:
    file = tmp_path / "scores.json"
    file.write_text(json.dumps(small()), encoding="utf-8")
    command = [sys.executable, "-W", "error", "-m", "assessments.evidence", str(file)]
    done = subprocess.run(
        [*command, "--samples", "100", "--seed", "5"], capture_output=True, text=True, check=True
    )
    assert done.stderr == ""
    assert json.loads(done.stdout) == evidence_document(cohort(6, 3, 2), samples=100, seed=5)


def test_the_command_says_what_is_wrong(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "scores.json"
    assert main([str(file)]) == 4
    for text, said in (
        ("{", "scores.json: "),
        ('{"cut": 0.5}', "scores.json: "),
        (json.dumps(small() | {"cut": "2"}), "cut: A share from 0 to 1 is needed."),
    ):
        file.write_text(text, encoding="utf-8")
        assert main([str(file)]) == 3
        assert said in capsys.readouterr().err
    file.write_text(json.dumps(small()), encoding="utf-8")
    assert main([str(file), "--samples", "5"]) == 3
    assert "samples: " in capsys.readouterr().err
