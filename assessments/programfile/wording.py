"""How the names of a program file are said to people."""

from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

PROGRAM_PART = N_("Program")
# The parts of a program, as headings; other fields of the program or the task stand in theirs.
PARTS = {
    "prerequisites": N_("Prerequisites"),
    "modules": N_("Modules"),
    "outcomes": N_("Outcomes"),
    "task": N_("Practical task"),
    "cautions": N_("Cautions"),
    "conditions": N_("Conditions"),
    "dimensions": N_("Dimensions"),
    "sheet": N_("Task sheet"),
    "stages": N_("Stages"),
    "criteria": N_("Criteria"),
    "pass_rule": N_("Pass rule"),
    "qualification": N_("Range and continuity"),
    "retake": N_("Retake"),
    "review": N_("Review"),
}
WORDS = {
    "after_days": N_("days after the last day"),
    "answer_within_days": N_("days within which it is answered"),
    "ask_within_days": N_("days within which it is asked for"),
    "assessors": N_("assessors"),
    "band": N_("band around the lowest overall score"),
    "before_days": N_("days before the last day"),
    "combine": N_("how several assessors count"),
    "cut": N_("lowest overall score"),
    "ends": N_("ends read"),
    "every_months": N_("months between confirmations"),
    "expected": N_("answer that is met"),
    "for": N_("closed without it"),
    "accepts": N_("paper accepted"),
    "guard_band": N_("a reading within the guard band"),
    "guide": N_("guide to the weight"),
    "kind": N_("kind"),
    "limits_source": N_("source of the limits"),
    "lower": N_("lower limit"),
    "m_s2": N_("vibration in m/s²"),
    "met_from": N_("level that is met"),
    "minimum": N_("lowest share"),
    "minimum_ratio": N_("least ratio of limits to uncertainty"),
    "most": N_("most for one person"),
    "not_applicable": N_("may be said not to apply"),
    "outcome_minima": N_("lowest shares of the outcomes have to be reached"),
    "points": N_("points"),
    "required": N_("assessors required"),
    "serves": N_("weight in outcome"),
    "teaches": N_("outcomes taught"),
    "ug_m3": N_("silica in µg/m³"),
    "upper": N_("upper limit"),
    "validity_months": N_("months that a record is valid"),
    "work": N_("work"),
}

# In these parts a field of the same name means something else.
WORDS_OF = {
    ("Retake", "after_days"): N_("days to wait after the decision"),
    ("Retake", "most"): N_("attempts in all"),
    ("Retake", "scope"): N_("what is made again"),
}

# Other fields are called as the file has them.
FIELDS = (
    N_("key"),
    N_("title"),
    N_("stage"),
    N_("stages"),
    N_("critical"),
    N_("weight"),
    N_("guidance"),
    N_("levels"),
    N_("description"),
    N_("quantity"),
    N_("unit"),
    N_("readings"),
    N_("statistic"),
    N_("limits"),
    N_("instrument"),
    N_("decision rule"),
    N_("coverage factor"),
    N_("name"),
    N_("maximum permissible error"),
    N_("resolution"),
    N_("what"),
    N_("minutes"),
    N_("content"),
    N_("statement"),
    N_("hold point"),
    N_("hazard"),
    N_("text"),
    N_("source"),
    N_("value"),
    N_("brief"),
    N_("code"),
    N_("needs"),
    N_("purpose"),
    N_("scope"),
    N_("variables"),
    N_("continuity"),
    N_("renewal"),
    N_("grace days"),
    N_("basis"),
    N_("values"),
    N_("assessed"),
    N_("dimension"),
    N_("dimensions"),
    N_("from"),
    N_("to"),
    N_("disc"),
    N_("depth"),
    N_("width"),
    N_("height"),
    N_("joint"),
    N_("back"),
    N_("proud"),
    N_("waste"),
    N_("length"),
    N_("thickness"),
    N_("rod"),
    N_("hole"),
    N_("shows"),
    N_("end gap"),
    N_("count"),
    N_("density"),
    N_("density unit"),
    N_("density source"),
    N_("most source"),
    N_("tools"),
    N_("tool"),
    N_("note"),
    N_("sum"),
    N_("sheet"),
    N_("format"),
    N_("version"),
    N_("changes"),
    N_("modules"),
    N_("outcomes"),
    N_("prerequisites"),
    N_("criteria"),
    N_("conditions"),
    N_("cautions"),
    N_("criterion"),
)

# What stands in these is called as the program's author called it: dimensions, outcomes.
CHOSEN = ("dimensions", "serves")


def word(name: str, part: str = "") -> str:
    """Return what a field is called in a sentence: ``cut`` is the lowest overall score."""
    return _(WORDS_OF.get((part, name)) or WORDS.get(name, name.replace("_", " ")))


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
