"""What a judge may enter, checked and made exact; refused at the field concerned."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _

from assessments.engine.errors import EngineError
from assessments.engine.numbers import Exact, exact, number_text
from assessments.models import Judgement, Panel
from assessments.queries.panel.asked import DIFFICULTY, GROUPS, LIMITS, RATINGS, RELEVANCE
from training.errors import Refused

Value = dict[str, Any]


def read_value(method: str, kind: str, value: Mapping[str, Any]) -> Value:
    """Return the value as it is stored, its shares in the one way that the engine writes them.

    Raises Refused at the value's field; a value with other fields than the subject's is
    refused without one, since no form sends it.
    """
    if kind == Judgement.Subject.LIMITS:
        return _limits(value)
    if kind == Judgement.Subject.ATTEMPT and method == Panel.Method.BORDERLINE:
        return {"rating": _one_of(value, "rating", RATINGS, _("Choose a rating from 1 to 5."))}
    if kind == Judgement.Subject.ATTEMPT:
        return {"group": _one_of(value, "group", GROUPS, _("Choose one of the two groups."))}
    if kind == Judgement.Subject.CRITERION and method == Panel.Method.EBEL:
        _only(value, ("relevance", "difficulty"))
        return {
            "relevance": _chosen(value, "relevance", RELEVANCE, _("Choose how relevant it is.")),
            "difficulty": _chosen(value, "difficulty", DIFFICULTY, _("Choose how hard it is.")),
        }
    _only(value, ("share",))
    return {"share": number_text(_share(value, "share"))}


def _limits(value: Mapping[str, Any]) -> Value:
    _only(value, LIMITS)
    shares = {name: _share(value, name) for name in LIMITS}
    for least, most in (("least_cut", "most_cut"), ("least_fail", "most_fail")):
        if shares[least] > shares[most]:
            raise Refused(
                _("The highest lies below the lowest: check both numbers, or swap them."),
                field=most,
            )
    return {name: number_text(share) for name, share in shares.items()}


def _share(value: Mapping[str, Any], name: str) -> Exact:
    message = _("Write a share from 0 % to 100 %.")
    try:
        share = exact(value[name])
    except EngineError as error:
        raise Refused(message, field=name) from error
    if not 0 <= share <= 1:
        raise Refused(message, field=name)
    return share


def _one_of(value: Mapping[str, Any], name: str, known: Mapping[Any, str], message: str) -> Any:
    _only(value, (name,))
    return _chosen(value, name, known, message)


def _chosen(value: Mapping[str, Any], name: str, known: Mapping[Any, str], message: str) -> Any:
    given = value[name]
    # True equals 1, and a list cannot be looked up: only plain text and whole numbers are.
    if type(given) not in (str, int) or given not in known:
        raise Refused(message, field=name)
    return given


def _only(value: Mapping[str, Any], names: tuple[str, ...]) -> None:
    if set(value) != set(names):
        raise Refused(
            _("A judgement here holds {names}, and nothing else.").format(names=", ".join(names))
        )
