"""The parts of the scoring page fit the forms: every field has its control, every error a place."""

import re
from datetime import UTC, datetime
from typing import Any, get_args

import pytest
from django.template.loader import render_to_string
from django.utils import timezone

from assessments.engine.kinds.result import Result
from assessments.forms.score import FORMS, SubjectForm
from assessments.templatetags.bankermark import RESULTS, instant, limits, percent, quantity

LIMITS = {"lower": None, "upper": "2"}
SUBJECTS: dict[str, dict[str, Any]] = {
    "rated": {
        "levels": [
            {"points": "0", "description": "Ragged"},
            {"points": "1/2", "description": "Broken in places"},
            {"points": "1", "description": "Sharp and whole"},
        ]
    },
    "measured": {
        "unit": "in",
        "readings": 2,
        "limits": LIMITS,
        "instrument": {"name": "steel rule"},
    },
    "checked": {},
    "counted": {"what": "voids", "limits": LIMITS},
    "timed": {"unit": "min", "limits": LIMITS},
    "hold_point": {},
}


def page(kind: str, *, data: dict[str, str] | None = None, value: Any = None) -> str:
    subject = {"kind": kind, "title": "Arrises", "not_applicable": True, **SUBJECTS[kind]}
    initial = FORMS[kind].initial_of(value) if value else None
    form: SubjectForm = FORMS[kind](data, subject=subject, initial=initial)
    context = {
        "criterion": None if kind == "hold_point" else subject,
        "form": form,
        "current": value,
        "csrf_token": "token",
    }
    return render_to_string("assessments/score/_criterion.html", context)


def controls(html: str) -> set[str]:
    return set(re.findall(r'<(?:input|button|textarea)[^>]* name="([a-z_0-9]+)"', html))


@pytest.mark.parametrize(
    ("kind", "names"),
    [
        ("rated", {"level"}),
        ("measured", {"reading_0", "reading_1"}),
        ("checked", {"answer"}),
        ("counted", {"count"}),
        ("timed", {"start", "end"}),
        ("hold_point", {"accepted"}),
    ],
)
def test_every_field_of_the_form_has_its_control(kind: str, names: set[str]) -> None:
    asked = {"csrfmiddlewaretoken", "observation_id", "replaces", "note", *names}
    if kind != "hold_point":
        asked |= {"not_applicable", "reason"}
    assert controls(page(kind)) == asked


@pytest.mark.parametrize(
    ("kind", "value", "pressed"),
    [
        ("rated", {"level": 0}, 'name="level" value="0"'),
        ("rated", {"level": 2}, 'name="level" value="2"'),
        ("checked", {"answer": False}, 'name="answer" value="no"'),
        ("hold_point", {"accepted": True}, 'name="accepted" value="yes"'),
    ],
)
def test_the_verdict_recorded_last_is_pressed_and_says_so(
    kind: str, value: Any, pressed: str
) -> None:
    html = page(kind, value=value)
    assert re.findall(r'<button[^>]* (name="\w+" value="\w+")[^>]* aria-pressed="true"', html) == [
        pressed
    ]
    assert html.count("Recorded") == 1
    assert "Recorded" not in page(kind)


def test_what_was_typed_stays_beside_its_error() -> None:
    html = page("measured", data={"reading_0": "1 1/2", "reading_1": '3,5"', "note": "East side"})
    assert 'value="1 1/2"' in html
    assert 'value="3,5&quot;"' in html
    assert "East side</textarea>" in html
    described = re.search(r'name="reading_1"[^>]*aria-describedby="(\w+)"', html)
    assert described
    assert f'id="{described[1]}"' in html
    assert "with a point instead of a comma" in html
    assert 'aria-describedby="id_reading_0_error"' not in html


def test_enter_sends_no_verdict_by_mistake() -> None:
    """A single line of text sends the form by its first button, which may be a verdict."""
    for kind in ("rated", "checked", "hold_point"):
        assert set(re.findall(r'<input[^>]*type="(\w+)"', page(kind))) == {"hidden"}
        assert not re.search(r"<input(?![^>]*type=)", page(kind))


def test_the_fractions_of_an_inch_have_keys_only_where_inches_are_read() -> None:
    assert 'data-part="7/8"' in page("measured")
    subject = {"kind": "measured", "title": "Arrises", **SUBJECTS["measured"], "unit": "mm"}
    context = {"criterion": subject, "form": FORMS["measured"](subject=subject)}
    assert "data-part" not in render_to_string("assessments/score/_measured.html", context)


def test_an_instant_comes_back_on_the_clock_of_the_site() -> None:
    with timezone.override("America/New_York"):
        assert instant(datetime(2025, 7, 1, 13, 5, 9, tzinfo=UTC)) == "2025-07-01T09:05:09"
    assert instant("tomorrow") == "tomorrow"
    assert instant(None) == ""


def test_every_result_of_the_engine_has_a_word_a_tone_and_a_shape() -> None:
    attempt = {"met", "not_yet_met", "undecided", "incomplete"}
    assert set(RESULTS) == attempt | {"void"} | set(get_args(Result))
    shapes: dict[str, set[str]] = {}
    for word, tone, shape in RESULTS.values():
        assert word
        shapes.setdefault(shape, set()).add(tone)
    assert all(len(tones) == 1 for tones in shapes.values()), "one shape, one colour"


@pytest.mark.parametrize(
    ("lower", "upper", "words"),
    [
        (None, "1/8", "1/8 in or less"),
        ("3/2", None, "1 1/2 in or more"),
        ("3/16", "5/16", "3/16 in to 5/16 in"),
        ("1/4", "1/4", "1/4 in exactly"),
        (None, "width - 2 * joint", "(width - 2 * joint) in or less"),
    ],
)
def test_says_limits_in_words(lower: str | None, upper: str | None, words: str) -> None:
    assert limits({"unit": "in", "limits": {"lower": lower, "upper": upper}}) == words


def test_shows_exact_numbers() -> None:
    assert quantity("381/10", "mm") == "38.1 mm"
    assert percent("69999/100000") == "about 69.99 %"
    assert percent(None) == ""
