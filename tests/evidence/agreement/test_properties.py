"""What holds for any ratings: order, perfection, new names, and no surprise for any input."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from assessments.evidence.agreement import agreement_section
from assessments.evidence.agreement.ac1 import brennan_prediger, gwet_ac1
from assessments.evidence.agreement.alpha import krippendorff_alpha
from assessments.evidence.agreement.icc import icc, standard_error_of_measurement
from assessments.evidence.agreement.kappa import cohen_kappa
from assessments.evidence.agreement.proportions import adjacent_agreement, exact_agreement
from assessments.evidence.results import Figure, NotComputed, Result, section_document
from assessments.evidence.scores import Array
from tests.evidence.agreement.cohorts import NAN, THIRDS, checked, cohort, rated
from tests.faults.marks import examples

FORMS: list[Any] = ["1,1", "1,k", "C,1", "C,k", "A,1", "A,k"]
SCALES: list[Any] = ["nominal", "ordinal", "interval", "ratio"]
WEIGHTS: list[Any] = ["nominal", "linear", "quadratic"]


def ratings(gaps: bool = True, least: int = 2) -> st.SearchStrategy[Array]:
    """Units x two to four assessors, levels 0 to 3."""
    values = st.sampled_from([0.0, 1.0, 2.0, 3.0, *([NAN] if gaps else [])])
    shapes = st.tuples(st.integers(least, 9), st.integers(2, 4))
    return shapes.flatmap(lambda shape: arrays(np.float64, shape, elements=values))


def computed(array: Array) -> dict[str, Result]:
    """Every statistic that takes such ratings."""
    found: dict[str, Result] = {
        "exact": exact_agreement(array),
        "adjacent": adjacent_agreement(array),
        "ac1": gwet_ac1(array, categories=range(4)),
        "brennan_prediger": brennan_prediger(array, categories=range(4)),
        "sem": standard_error_of_measurement(array, samples=100),
    }
    for scale in SCALES:
        found[f"alpha {scale}"] = krippendorff_alpha(array, scale=scale, samples=100)
    for form in FORMS if not np.isnan(array).any() else FORMS[:1]:
        found[f"icc {form}"] = icc(array, form=form)
    return found


def values(found: dict[str, Result]) -> dict[str, float | None]:
    return {
        name: result.value if isinstance(result, Figure) else None for name, result in found.items()
    }


def like(found: dict[str, Result], other: dict[str, Result]) -> None:
    """The same figures, and the same of them missing."""
    ours, theirs = values(found), values(other)
    assert {name for name, value in ours.items() if value is None} == {
        name for name, value in theirs.items() if value is None
    }
    known = [name for name, value in ours.items() if value is not None]
    assert [ours[name] for name in known] == pytest.approx([theirs[name] for name in known])


@given(ratings())
def test_any_ratings_give_figures_or_reasons(array: Array) -> None:
    for name, result in computed(array).items():
        if isinstance(result, NotComputed):
            assert result.reason.endswith("."), name
            continue
        assert result.indicative, name
        assert result.interval, name
        if result.low is not None and result.high is not None:
            assert result.low <= result.value <= result.high, name
        if name != "sem":
            assert result.value <= 1 + 1e-9, name


@given(ratings(), st.randoms(use_true_random=False))
def test_order_of_units_and_assessors_is_nothing(array: Array, random: Any) -> None:
    rows, columns = list(range(array.shape[0])), list(range(array.shape[1]))
    random.shuffle(rows)
    random.shuffle(columns)
    like(computed(array), computed(array[rows][:, columns]))


@given(st.lists(st.sampled_from([0.0, 1.0, 2.0, 3.0]), min_size=3, max_size=12))
def test_perfect_agreement_is_one(column: list[float]) -> None:
    assume(len(set(column)) > 1)
    array = np.column_stack((column, column))
    found = values(computed(array))
    assert found.pop("sem") == pytest.approx(0)
    assert list(found.values()) == pytest.approx([1.0] * len(found))
    table = np.diag([column.count(level) for level in (0.0, 1.0, 2.0, 3.0)])
    for weights in WEIGHTS:
        kappa = cohen_kappa(table, weights=weights)
        assert isinstance(kappa, Figure)
        assert kappa.value == pytest.approx(1)


@given(ratings(), st.permutations([0.0, 1.0, 2.0, 3.0]))
def test_new_names_leave_nominal_figures_alone(array: Array, names: list[float]) -> None:
    renamed = np.where(np.isnan(array), NAN, np.array(names)[np.nan_to_num(array).astype(int)])
    nominal = ("exact", "ac1", "brennan_prediger", "alpha nominal")
    ours, theirs = computed(array), computed(renamed)
    like({name: ours[name] for name in nominal}, {name: theirs[name] for name in nominal})


@given(arrays(np.int64, (3, 3), elements=st.integers(0, 9)), st.permutations([0, 1, 2]))
def test_kappa_of_tables_turned_and_renamed(table: Any, order: list[int]) -> None:
    for weights in WEIGHTS:
        found = {"kappa": cohen_kappa(table, weights=weights)}
        like(found, {"kappa": cohen_kappa(table.T, weights=weights)})
    renamed = cohen_kappa(table[np.ix_(order, order)])
    like({"kappa": cohen_kappa(table)}, {"kappa": renamed})


@given(ratings(gaps=False), st.floats(0.1, 5), st.floats(-3, 3))
def test_scale_of_scores_leaves_icc_alone(array: Array, by: float, plus: float) -> None:
    scaled = array * by + plus
    like(
        {form: icc(array, form=form) for form in FORMS},
        {form: icc(scaled, form=form) for form in FORMS},
    )


def scores_of() -> st.SearchStrategy[Any]:
    """Cohorts of a rated and a checked criterion with two or three assessors, with gaps."""

    def build(shape: tuple[int, int]) -> st.SearchStrategy[Any]:
        people, assessors = shape
        graded = arrays(
            np.float64, (people, 1, assessors), elements=st.sampled_from([*THIRDS, NAN])
        )
        plain = arrays(
            np.float64, (people, 1, assessors), elements=st.sampled_from([0.0, 1.0, NAN])
        )
        applies = arrays(np.bool_, (people, 2), elements=st.booleans())
        cut = st.sampled_from([None, 0.5, 0.7])
        return st.builds(
            lambda one, two, applies, cut: cohort(
                (rated(), checked()), np.concatenate((one, two), axis=1), cut, applies=applies
            ),
            graded,
            plain,
            applies,
            cut,
        )

    return st.tuples(st.integers(0, 6), st.integers(0, 3)).flatmap(build)


@settings(max_examples=examples(60), deadline=None)
@given(scores_of())
def test_any_cohort_gives_a_section(scores: Any) -> None:
    section = agreement_section(scores, samples=100)
    document = section_document(section)
    assert document["summary"].endswith(".")
    assert len(document["figures"]) == 10 if section.drawings else 9
    assert len({figure.key for figure in section.figures}) == len(section.figures)
