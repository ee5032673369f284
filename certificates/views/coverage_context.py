"""What the page of a project's coverage tells, as plain values for its templates."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from certificates.coverage import Candidate, Closing, Plan
from certificates.coverage.drawing import NARROW, timeline_drawings
from certificates.coverage.timeline import timeline
from certificates.drawn_words import drawn
from certificates.queries.closers import help_for
from certificates.queries.coverage_rows import gap_days, post_days, short_days, span_on
from certificates.queries.coverage_why import endings, gap_endings
from certificates.queries.project_coverage import ProjectCoverage
from certificates.wording import count, place_named, place_title
from training.said import said

SHOWN_GAPS = 30
SHOWN_CLOSINGS = 20
DRAWN_WHOLE = 24
"""With more rows than this only the posts that are short are drawn."""


def coverage_context(found: ProjectCoverage) -> dict[str, Any]:
    """All that does not depend on the day looked at closely."""
    coverage = found.coverage
    gaps = gap_days(coverage)
    only_short = len(coverage.posts) > DRAWN_WHOLE
    lines = timeline(coverage, short_only=only_short)
    title = _("Posts of {project}, filled and short").format(project=found.project.name)
    return {
        "coverage": coverage,
        "days": (coverage.last - coverage.first).days + 1,
        "short": short_days(coverage),
        "peak": max(span.places for span in coverage.spans),
        "gaps": [
            {"days": each, "sentence": said(each.gap.sentence), "endings": gap_endings(found, each)}
            for each in gaps[:SHOWN_GAPS]
        ],
        "more_gaps": max(0, len(gaps) - SHOWN_GAPS),
        "first_gap": said(gaps[0].gap.sentence) if gaps else "",
        "broken": said(coverage.breaks.sentence) if coverage.breaks else "",
        "endings": endings(found),
        "only_short": only_short,
        "drawings": timeline_drawings(lines, key="coverage", title=title, say=drawn),
        "narrow": timeline_drawings(
            lines, key="coverage-narrow", title=title, width=NARROW, say=drawn
        ),
    }


def day_context(found: ProjectCoverage, on: date) -> dict[str, Any]:
    """Who fills which post on a day, and what would fill the rest; at most three queries."""
    span = span_on(found.coverage, on)
    shown: dict[str, Any] = {"span": span, "posts": post_days(found, on)}
    if not span.unfilled:
        return shown
    helped = help_for(found, on)
    return {
        **shown,
        "plan_sentence": plan_sentence(helped.plan),
        "steps": _named(found, helped.plan.steps),
        "closings": _named(found, helped.closings[:SHOWN_CLOSINGS]),
        "more_closings": max(0, len(helped.closings) - SHOWN_CLOSINGS),
    }


def plan_sentence(plan: Plan) -> str:
    """What the steps of a plan come to; they are more than assessments alone.

    >>> plan_sentence(Plan((), 0, 2, 0, ""))
    'Nothing that the crew could do fills either of the two places: more masons are needed.'
    """
    number = len(plan.steps)
    if plan.closes:
        if number == 1:
            return _("This one step would fill every place.")
        return _("These {steps} steps would fill every place.").format(steps=count(number))
    if not plan.steps:
        if plan.unfilled == 1:
            return _(
                "Nothing that the crew could do fills the empty place: another mason is needed."
            )
        if plan.unfilled == 2:
            return _(
                "Nothing that the crew could do fills either of the two places: more masons are "
                "needed."
            )
        return _(
            "Nothing that the crew could do fills any of the {places} places: more masons are "
            "needed."
        ).format(places=count(plan.unfilled))
    filled, short = count(plan.filled_more), count(plan.filled_more + plan.unfilled)
    told = (
        _(
            "This one step would fill {filled} of the {short} empty places. Nothing that the crew "
            "could do fills more: more masons are needed."
        )
        if number == 1
        else _(
            "These {steps} steps would fill {filled} of the {short} empty places. Nothing that "
            "the crew could do fills more: more masons are needed."
        )
    )
    return told.format(steps=count(number), filled=filled, short=short)


def _named(
    found: ProjectCoverage, rows: Iterable[Candidate | Closing]
) -> list[dict[str, int | str]]:
    """Steps with the names of people and posts."""
    titles = {place.key: place.title for place in found.facts.places}
    return [
        {
            "person": int(one.person),
            "name": found.people[int(one.person)],
            "post": place_title(titles[one.post]),
            "titled": place_named(titles[one.post]),
            "missing": one.missing,
        }
        for one in rows
    ]
