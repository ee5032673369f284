"""Who reads none of the language that is spoken finds the own one by its own name."""

import pytest
from django.template.loader import render_to_string
from django.utils.translation import override


@pytest.mark.parametrize(
    ("now", "named", "itself"),
    [("es", ">English<", ">Español<"), ("en", ">Español<", ">English<")],
)
def test_each_other_language_in_its_own_words(now: str, named: str, itself: str) -> None:
    with override(now):
        page = render_to_string("includes/languages.html")
    assert named in page
    assert itself not in page
