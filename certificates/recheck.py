"""Making the decision of a record again, from nothing but the record itself."""

from collections.abc import Iterator, Mapping
from typing import Any

from assessments.engine import decide
from assessments.engine.canonical import digest
from assessments.engine.errors import EngineError
from assessments.engine.qualification import stated_range
from assessments.engine.standard import load_standard
from certificates.record_document import RESULTS, SCHEMA

MET = "met"
# The version of the engine is told, not compared: the same rules under a later one agree.
NOT_COMPARED = frozenset({"engine"})
MISSING = object()


def differences(record: Mapping[str, Any]) -> list[str]:
    """Return one sentence for each thing in ``record`` that does not follow from the rest.

    The decision is made again from the embedded standard and observations and compared
    with the embedded one; what the paper says must be what that decision says. Empty when
    all agree. Never raises for a malformed record: it says what is wrong with it.
    """
    if record.get("schema") != SCHEMA:
        return [f"the format is {record.get('schema')!r}; this program reads {SCHEMA}"]
    try:
        return list(_differences(record))
    except EngineError as error:
        return [f"the decision cannot be made again: {error}"]
    except (KeyError, TypeError, AttributeError, IndexError) as error:
        return [f"a part of the record is missing or malformed ({error})"]


def _differences(record: Mapping[str, Any]) -> Iterator[str]:
    standard, stated = load_standard(record["standard"]), record["decision"]
    if standard.digest != record["standard_digest"]:
        yield (
            "the standard in the record is not the one whose digest it names: "
            f"{_short(standard.digest)} instead of {_short(record['standard_digest'])}"
        )
    if stated["standard_digest"] != record["standard_digest"]:
        yield "the decision names the digest of another standard than the record"
    made = decide(standard, record["observations"])
    for name in _unequal(stated, made):
        yield (
            f"the decision made again from the standard and observations differs at {name}: "
            f"stated {_told(stated, name)}, made again {_told(made, name)}"
        )
    if record["result"] != made["result"]:
        yield f"the record says {record['result']}, the decision made again {made['result']}"
    if record["result"] != MET:
        yield "the passing standard was not met, so no record should exist"
    yield from _outcomes(record, made)
    yield from _range(record)


def _outcomes(record: Mapping[str, Any], made: Mapping[str, Any]) -> Iterator[str]:
    statements = {row["key"]: row["statement"] for row in record["standard"]["outcomes"]}
    expected = [
        {
            "key": row["key"],
            "statement": statements[row["key"]],
            "result": RESULTS[row["met"]],
            "score": row["score"],
        }
        for row in made["outcomes"]
    ]
    if record["outcomes"] != expected:
        yield "the outcomes on the record are not those of the decision made again"
    for name in ("code", "version", "title"):
        if record["program"][name] != record["standard"]["program"][name]:
            yield f"the program's {name} on the record is not that of the standard"


def _range(record: Mapping[str, Any]) -> Iterator[str]:
    try:
        expected = stated_range(record["standard"])
    except EngineError as error:
        yield f"the range of the record cannot be worked out again: {error}"
        return
    stated = record.get("range", MISSING)
    if stated is MISSING and expected is None:
        return
    if stated is MISSING:
        yield "the record leaves out the range that follows from the standard"
    elif expected is None:
        yield "the record states a range, and the standard has no rules for one"
    elif stated != expected:
        yield "the range on the record is not the one that follows from the standard"


def _unequal(stated: Mapping[str, Any], made: Mapping[str, Any]) -> list[str]:
    names = sorted((stated.keys() | made.keys()) - NOT_COMPARED)
    return [name for name in names if stated.get(name, MISSING) != made.get(name, MISSING)]


def _told(decision: Mapping[str, Any], name: str) -> str:
    value = decision.get(name, MISSING)
    if value is MISSING:
        return "nothing"
    if isinstance(value, str | int) or value is None:
        return repr(value)
    return f"digest {_short(digest(value))}"


def _short(text: object) -> str:
    return f"{str(text)[:12]}…"
