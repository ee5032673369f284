"""Strict JSON in, canonical JSON out (RFC 8785), and its SHA-256 digest.

Documents hold only strings, whole numbers, booleans, null, lists and objects. A float has no
exact meaning once it has been written and read again, so it is refused everywhere.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from typing import Any, NoReturn

import rfc8785

from assessments.engine.errors import EngineError

MAX_DEPTH = 40
_FLOAT = 'Write this number as text holding an exact decimal or fraction, such as "0.7" or "7/10".'
_LARGEST_WHOLE = 2**53 - 1


def loads(text: str | bytes) -> Any:
    """The document written in a JSON text; no floats, no NaN, no key twice in one object.

    Raises EngineError with the line and column where the text is not JSON.

    >>> loads('{"cut": "0.7"}')
    {'cut': '0.7'}
    """
    try:
        document = json.loads(
            text,
            parse_float=_refuse_float,
            parse_constant=_refuse_float,
            object_pairs_hook=_unique,
        )
    except json.JSONDecodeError as error:
        raise EngineError(
            "", f"This is not JSON at line {error.lineno}, column {error.colno}: {error.msg}."
        ) from None
    except UnicodeDecodeError:
        raise EngineError("", "Save the file as UTF-8 text.") from None
    except RecursionError:
        raise _too_deep("") from None
    except EngineError:
        raise
    except ValueError:  # Python refuses to read whole numbers of thousands of digits
        raise EngineError("", "A number has too many digits: write it as text.") from None
    check_plain(document)
    return document


def canonical(document: Any) -> bytes:
    """The RFC 8785 form of a document, as UTF-8 bytes.

    >>> canonical({"b": 1, "a": "x"})
    b'{"a":"x","b":1}'
    """
    check_plain(document)
    try:
        return rfc8785.dumps(document)
    except (rfc8785.CanonicalizationError, UnicodeEncodeError):
        raise EngineError(
            "", "A text holds half of a surrogate pair: write it as whole Unicode characters."
        ) from None


def digest(document: Any) -> str:
    """Lowercase hexadecimal SHA-256 over the canonical form.

    >>> digest({})
    '44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a'
    """
    return hashlib.sha256(canonical(document)).hexdigest()


def check_plain(document: Any) -> None:
    """Raise EngineError where the document holds anything but plain JSON data."""
    # Nearly every document is sound: only for one that is not is it worth knowing where.
    if not _is_plain((document,), 0):
        _refuse(document)


def _is_plain(values: Iterable[Any], depth: int) -> bool:
    """Whether all of these, ``depth`` levels down, are JSON data; False also where in doubt."""
    if depth > MAX_DEPTH:
        return False
    for value in values:
        kind = type(value)
        if kind is str or kind is bool or value is None:
            continue
        if kind is dict:
            if not (
                all(type(key) is str for key in value) and _is_plain(value.values(), depth + 1)
            ):
                return False
        elif kind is list:
            if not _is_plain(value, depth + 1):
                return False
        elif kind is not int or abs(value) > _LARGEST_WHOLE:
            return False
    return True


def _refuse(document: Any) -> None:
    """Raise EngineError at the first place that holds no plain JSON data."""
    waiting: list[tuple[Any, str, int]] = [(document, "", 0)]
    while waiting:
        value, path, depth = waiting.pop()
        if depth > MAX_DEPTH:
            raise _too_deep(path)
        if value is None or isinstance(value, str | bool):
            continue
        if isinstance(value, int):
            if abs(value) > _LARGEST_WHOLE:
                raise EngineError(path, "Write a whole number above 2^53 as text.")
        elif isinstance(value, float):
            raise EngineError(path, _FLOAT)
        elif isinstance(value, list):
            waiting += [(item, f"{path}[{i}]", depth + 1) for i, item in enumerate(value)]
        elif isinstance(value, dict):
            for key, item in value.items():
                if not isinstance(key, str):
                    raise EngineError(path, f"The key {key!r} must be text.")
                waiting.append((item, f"{path}.{key}" if path else key, depth + 1))
        else:
            raise EngineError(path, f"A document cannot hold a {type(value).__name__}.")


def _refuse_float(text: str) -> NoReturn:
    raise EngineError("", f"The number {text[:40]} is not exact. {_FLOAT}")


def _unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise EngineError("", f"The key “{key}” stands twice in one object: keep one.")
        found[key] = value
    return found


def _too_deep(path: str) -> EngineError:
    # The path of a document nested a thousand deep would itself be no help.
    return EngineError(path[:80], f"The document is nested more than {MAX_DEPTH} levels deep.")
