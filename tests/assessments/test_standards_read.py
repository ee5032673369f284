"""A sealed standard is read once for pages, and never taken for another."""

import pytest

from assessments.engine.errors import EngineError
from assessments.queries.standards import sealed_standard
from tests.assessments.builders import standard_document
from tests.factories import make_organisation, make_program
from training.digests import digest


@pytest.mark.django_db
def test_a_sealed_standard_is_read_once() -> None:
    program = make_program(make_organisation())
    one, other = standard_document(program), standard_document(program, criteria=[])
    with pytest.raises(EngineError):
        sealed_standard(other, digest(other))
    found = sealed_standard(one, digest(one))
    assert [each.key for each in found.criteria] == [row["key"] for row in one["criteria"]]
    assert found.digest == digest(one)
    assert sealed_standard({**one}, digest(one)) is found
    changed = standard_document(program, dimensions={"opening_width": {"value": "7", "unit": "in"}})
    assert sealed_standard(changed, digest(changed)).dimension_texts == {"opening_width": "7 in"}
