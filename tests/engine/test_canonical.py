"""Canonical JSON and the strict reader."""

from __future__ import annotations

import hashlib
import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.engine import EngineError, canonical

PLAIN = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53) + 1, 2**53 - 1)
    | st.text(st.characters(codec="utf-8")),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.text(st.characters(codec="utf-8")), inner, max_size=4)
    ),
    max_leaves=20,
)


@given(PLAIN)
def test_round_trip(document: Any) -> None:
    written = canonical.canonical(document)
    assert canonical.loads(written) == document
    assert canonical.canonical(canonical.loads(written)) == written
    assert canonical.digest(document) == hashlib.sha256(written).hexdigest()


def test_rfc_8785_sorting() -> None:
    # RFC 8785, 3.2.3: keys in the order of their UTF-16 code units, without the float's key.
    document = {"€": "Euro", "\r": "CR", "\ufb33": "Hebrew", "1": "One", "😀": "Smile", "ö": "o"}
    keys = list(json.loads(canonical.canonical(document)))
    assert keys == ["\r", "1", "ö", "€", "😀", "\ufb33"]


@pytest.mark.parametrize(
    ("document", "path"),
    [
        ({"cut": 0.7}, "cut"),
        ({"a": [{"b": float("nan")}]}, "a[0].b"),
        ([1.0], "[0]"),
        ({"a": 2**53}, "a"),
        ({"a": -(2**53)}, "a"),
        ({"a": {1}}, "a"),
        ({"a": (1, 2)}, "a"),
        ({"a": {1: "x"}}, "a"),
        ({"a": b"x"}, "a"),
        ({"a": "\ud800"}, ""),
    ],
)
def test_refused(document: Any, path: str) -> None:
    with pytest.raises(EngineError) as caught:
        canonical.canonical(document)
    assert caught.value.path == path


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('{"a": 0.7}', '"0.7"'),
        ('{"a": 1e400}', "1e400"),
        ('{"a": NaN}', "NaN"),
        ('{"a": Infinity}', "Infinity"),
        ('{"a": 1, "a": 2}', "twice"),
        ('{"a": [{"b": 1, "b": 1}]}', "twice"),
        ('{"a": 1', "line 1"),
        ("", "line 1"),
        ("[" * 50 + "]" * 50, "40 levels"),
        ("[" * 100_000, "40 levels"),
        ('{"a": ' + "9" * 5000 + "}", "digits"),
        ('{"a": ' + "9" * 30 + "}", "2^53"),
        (b'{"a": "\xff"}', "UTF-8"),
    ],
)
def test_reader_refuses(text: str | bytes, said: str) -> None:
    with pytest.raises(EngineError) as caught:
        canonical.loads(text)
    assert said in str(caught.value)


def test_nesting_up_to_the_limit() -> None:
    assert canonical.loads("[" * 41 + "]" * 41)
    with pytest.raises(EngineError, match="40 levels"):
        canonical.loads("[" * 42 + "]" * 42)
