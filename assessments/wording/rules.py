"""When a standard is met, and what a hold point comes to."""

from collections.abc import Callable, Mapping

from django.utils.translation import gettext_noop as N_

SAID = (
    N_("The critical criterion is met: {titles}."),
    N_("Every critical criterion is met: {titles}."),
    N_("Outcome {key} reaches at least {share}."),
    N_("The overall score reaches at least {share}; on it is met."),
    N_(
        "An overall score from {lower} up to below {upper} is undecided until a second assessor "
        "has scored every criterion."
    ),
    N_("One assessor scores."),
    N_("{count} assessors score independently."),
    N_("Where several have scored, the mean of their scores counts."),
    N_("Where several have scored, the lowest of their scores counts."),
    N_("Where several have scored, they must agree; what they differ on stays open."),
    N_("A measurement within its guard band stays open until a second assessor has measured."),
    N_("A measurement within its guard band counts as not met."),
    N_("Accepted: the next step may begin."),
    N_("Not accepted: mend it, then look again."),
    N_("The standard has no criterion {key}."),
    N_("The standard has no hold point {key}."),
)

OWN: Mapping[str, Callable[[str], str]] = dict.fromkeys(("titles", "fields", "problem"), str)
"""What stands in these braces is the program's or the reader's own words."""
