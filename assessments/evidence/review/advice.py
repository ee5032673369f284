"""What to do about a criterion, by rules that anyone can follow."""

from __future__ import annotations

from assessments.evidence.results import Figure, Result

# Where each sentence begins; the notes of the section give the same numbers in words.
GAPS = 0.1
WEAK = 0.2
ALONE = 0.5
ALONE_TIMES = 2

RULES = (
    "Advice is given where everyone or nobody met a criterion; where more than "
    f"{GAPS:.0%} of ended attempts have no score for it; where its correlation with the rest of "
    f"the work is below {WEAK:g} (the mark under which Ebel 1954, Educ. Psychol. Meas. 14:352, "
    "calls an item poor; from memory), more so when the whole interval lies below 0; and where "
    f"it alone decided {ALONE:.0%} or more, and at least {ALONE_TIMES}, of the decisions "
    "'not yet met'."
)


def advice(
    *,
    critical: bool,
    met: Result,
    item_rest: Result,
    missing: Result,
    alone: Result,
) -> tuple[str, ...]:
    """Sentences with their figures, the most important first; none where nothing stands out.

    >>> same = Figure("met", "Share who met it", 1.0, n=12)
    >>> advice(critical=True, met=same, item_rest=same, missing=same, alone=same)[0][:48]
    'Everyone met it (12 of 12): it tells nothing abo'
    """
    found = [*_difficulty(met, critical), *_missing(missing)]
    if isinstance(item_rest, Figure):
        found += _discrimination(item_rest)
    if isinstance(alone, Figure) and alone.value >= ALONE and _count(alone) >= ALONE_TIMES:
        found.append(
            f"It alone decided {_of(alone)} decisions 'not yet met': see that its limit and the "
            "way it is scored can bear that."
        )
    return tuple(found)


def _difficulty(met: Result, critical: bool) -> list[str]:
    if not isinstance(met, Figure):
        return ["Nobody was scored on it yet."]
    if _count(met) == met.n:
        keep = "Keep it: it is critical." if critical else "Keep it only if the work needs it."
        return [f"Everyone met it ({_of(met)}): it tells nothing about who can do the work. {keep}"]
    if _count(met) == 0:
        return [
            f"Nobody met it ({_of(met)}): look whether it was taught and practised, and whether "
            "its limit can be kept on site."
        ]
    return []


def _missing(missing: Result) -> list[str]:
    if isinstance(missing, Figure) and missing.value > GAPS:
        return [
            f"It has no score in {_of(missing)} attempts where it applied: see whether it can be "
            "seen and measured at its stage."
        ]
    return []


def _discrimination(figure: Figure) -> list[str]:
    value = f"{figure.value:.2f}"
    if figure.low is not None and figure.high is not None:
        value += f", {figure.low:.2f} to {figure.high:.2f}"
    if figure.high is not None and figure.high < 0:
        return [
            f"Those who did the rest well tended to miss it (correlation {value}): look at its "
            "words, its limit and how it is measured."
        ]
    if figure.value < WEAK:
        return [
            f"It hardly goes along with the rest of the work (correlation {value}): it may be a "
            "skill of its own, or be scored unevenly. Look again after more trainees."
        ]
    return []


def _count(figure: Figure) -> int:
    return round(figure.value * (figure.n or 0))


def _of(figure: Figure) -> str:
    return f"{_count(figure)} of {figure.n}"
