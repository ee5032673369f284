"""When one assessor's result decides, whatever the others find."""

from __future__ import annotations

import itertools

import pytest

from assessments.engine import judge, load_standard
from assessments.engine.rule import combine, decides_alone
from tests.engine import builders


@pytest.mark.parametrize("how", ["mean", "lower", "agreement"])
@pytest.mark.parametrize("criterion", [builders.checked(), builders.rated(), builders.measured()])
@pytest.mark.parametrize("asked", [True, False])
@pytest.mark.parametrize("critical", [True, False])
def test_deciding_alone_is_what_no_other_assessor_can_mend(
    how: str, criterion: builders.Document, asked: bool, critical: bool
) -> None:
    """The reference is ``combine`` itself, over what up to three others can have found."""
    row = {**criterion, "critical": critical}
    standard = load_standard(
        builders.standard(row, builders.checked("Z", critical=True), critical=asked, combine=how)
    )
    values: dict[str, list[dict[str, object]]] = {
        "checked": [{"answer": False}, {"answer": True}],
        "rated": [{"level": level} for level in range(4)],
        "measured": [
            {"readings": [{"typed": "", "value": value, "unit": "mm"}]} for value in ("11", "7")
        ],
    }
    found = [judge(standard.criteria[0], value) for value in values[row["kind"]]]
    for first in found:
        possible = any(
            combine(standard.criteria[0], [first, *others], standard.pass_rule).possible
            for count in range(4)
            for others in itertools.combinations_with_replacement(found, count)
        )
        decides = decides_alone(standard, standard.criteria[0], first)
        assert decides == (asked and critical and not possible)
