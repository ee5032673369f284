"""How the names of a program file are said to people."""

from typing import Any

PROGRAM_PART = "Program"
# The parts of a program, as headings; other fields of the program or the task stand in theirs.
PARTS = {
    "prerequisites": "Prerequisites",
    "modules": "Modules",
    "outcomes": "Outcomes",
    "task": "Practical task",
    "cautions": "Cautions",
    "conditions": "Conditions",
    "dimensions": "Dimensions",
    "sheet": "Task sheet",
    "stages": "Stages",
    "criteria": "Criteria",
    "pass_rule": "Pass rule",
    "qualification": "Range and continuity",
    "retake": "Retake",
    "review": "Review",
}
WORDS = {
    "after_days": "days after the last day",
    "answer_within_days": "days within which it is answered",
    "ask_within_days": "days within which it is asked for",
    "assessors": "assessors",
    "band": "band around the lowest overall score",
    "before_days": "days before the last day",
    "combine": "how several assessors count",
    "cut": "lowest overall score",
    "ends": "ends read",
    "every_months": "months between confirmations",
    "expected": "answer that is met",
    "for": "closed without it",
    "accepts": "paper accepted",
    "guard_band": "a reading within the guard band",
    "guide": "guide to the weight",
    "kind": "kind",
    "limits_source": "source of the limits",
    "lower": "lower limit",
    "m_s2": "vibration in m/s²",
    "met_from": "level that is met",
    "minimum": "lowest share",
    "minimum_ratio": "least ratio of limits to uncertainty",
    "most": "most for one person",
    "not_applicable": "may be said not to apply",
    "outcome_minima": "lowest shares of the outcomes have to be reached",
    "points": "points",
    "required": "assessors required",
    "serves": "weight in outcome",
    "teaches": "outcomes taught",
    "ug_m3": "silica in µg/m³",
    "upper": "upper limit",
    "validity_months": "months that a record is valid",
    "work": "work",
}

# In these parts a field of the same name means something else.
WORDS_OF = {
    ("Retake", "after_days"): "days to wait after the decision",
    ("Retake", "most"): "attempts in all",
    ("Retake", "scope"): "what is made again",
}

# What stands in these is called as the program's author called it: dimensions, outcomes.
CHOSEN = ("dimensions", "serves")


def word(name: str, part: str = "") -> str:
    """Return what a field is called in a sentence: ``cut`` is the lowest overall score."""
    return WORDS_OF.get((part, name)) or WORDS.get(name, name.replace("_", " "))


def shown(value: Any) -> str:
    """Return a written value as one text: lists with commas, records with their fields named."""
    if value is None:
        return ""
    if isinstance(value, dict):
        return "; ".join(
            f"{word(name)}: {_chosen(part) if name in CHOSEN else shown(part)}"
            for name, part in value.items()
        )
    if isinstance(value, list):
        between = "; " if any(isinstance(each, (dict, list)) for each in value) else ", "
        return between.join(shown(each) for each in value)
    return str(value)


def _chosen(value: dict[str, Any]) -> str:
    return "; ".join(f"{name}: {shown(part)}" for name, part in value.items())
