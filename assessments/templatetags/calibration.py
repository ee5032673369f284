"""How an assessor's figures beside agreed scores are said on pages."""

from collections.abc import Sized

from django import template
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from assessments.comparison import Compared, Tally, bias_text, points_text, signed_text
from assessments.engine.numbers import exact, percent_text
from assessments.models import AssessorRequirement

register = template.Library()


@register.filter
def lean(tally: Tally) -> str:
    """Return the bias with its sign, such as ``+12.5 %``; a dash where there is none."""
    return "–" if tally.bias is None else signed_text(tally.bias)


@register.filter
def share(tally: Tally) -> str:
    """Return the share scored exactly as agreed, never rounded up."""
    return "" if tally.share is None else percent_text(tally.share)


@register.filter
def apart(row: Compared) -> str:
    """Return how far a score is from the agreed one, in words."""
    difference = row.difference
    if difference is None:
        return _("One of the two holds that it does not apply.")
    if not difference:
        return _("The same score, and another result.")
    above = _("{points} of the scale above the agreed score.")
    below = _("{points} of the scale below the agreed score.")
    return (above if difference > 0 else below).format(points=points_text(abs(difference)))


@register.filter
def asked(requirement: AssessorRequirement) -> str:
    """Return in words what a program asks of who signs off."""
    pieces, months = requirement.pieces, requirement.months
    least, most = percent_text(exact(requirement.exact)), percent_text(exact(requirement.bias))
    what = ngettext("{count} reference piece", "{count} reference pieces", pieces)
    within = ngettext("{count} month", "{count} months", months)
    return _(
        "{pieces} scored within {months}, at least {least} of their criteria exactly as agreed, a "
        "bias of at most {most} of the scale either way."
    ).format(
        pieces=what.format(count=pieces),
        months=within.format(count=months),
        least=least,
        most=most,
    )


@register.filter
def reached(tally: Tally, counted: Sized) -> str:
    """Return in words what the sittings ``counted`` come to."""
    number = len(counted)
    said = ngettext(
        "{count} piece, {same} of {criteria} criteria exactly as agreed",
        "{count} pieces, {same} of {criteria} criteria exactly as agreed",
        number,
    ).format(count=number, same=tally.same, criteria=tally.criteria)
    return (
        _("{said}, scores {bias_text}.").format(said=said, bias_text=bias_text(tally.bias))
        if tally.bias is not None
        else f"{said}."
    )
