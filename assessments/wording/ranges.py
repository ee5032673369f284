"""What a record covers, how long it goes on counting, and how it is renewed."""

from django.utils.translation import gettext_noop as N_

SAID = (
    N_("up to {high}"),
    N_("Up to {high}."),
    N_("any size"),
    N_("Any size."),
    N_("{low} and more"),
    N_("{low} and more."),
    N_("{low} to {high}."),
    N_("Assessed: {value}; this and all that is easier is covered."),
    N_("From the easiest to the hardest: {order}."),
    N_("Assessed: {values}; this alone is covered."),
    N_("Assessed: {values}; these alone are covered."),
    N_("Assessed: {amount}; {sizes} is covered."),
    N_("up to {size}"),
    N_("{size} and more"),
    N_("from {size} to {larger}"),
    N_("half that size"),
    N_("that size"),
    N_("twice that size"),
    N_("{amount} times that size"),
    N_("Source: {source}"),
    N_("No confirmation is asked for: a record counts until its last day."),
    N_(
        "The record counts while work of its kind is confirmed {every}: each confirmation "
        "reaches {span} from the last day worked and is signed by the day it is due."
    ),
    N_(
        "The record counts while work of its kind is confirmed {every}: each confirmation "
        "reaches {span} from the last day worked and is signed at most {grace} after the day "
        "it is due."
    ),
    N_("After a gap it no longer counts: only a new record starts again."),
    N_("{every}; after a gap it no longer counts"),
    N_("every month"),
    N_("every {count} months"),
    N_("1 month"),
    N_("{count} months"),
    N_("1 day"),
    N_("{count} days"),
    N_("There is no shorter way to renew: a new record asks for a full attempt."),
    N_(
        "From {span} before the record's last day {after}, a shorter attempt at the stage "
        "{stages} may renew it."
    ),
    N_(
        "From {span} before the record's last day {after}, a shorter attempt at the stages "
        "{stages} may renew it."
    ),
    N_("to that day"),
    N_("until {span} after it"),
    N_("{title}: {extent} is asked for, the record says nothing about it."),
    N_("{title}: {extent} are asked for, the record says nothing about it."),
    N_("{title}: {extent} is asked for, the record covers {covered}."),
    N_("{title}: {extent} are asked for, the record covers {covered}."),
    N_("Work can only be confirmed once it is done."),
)
"""The patterns of the engine's sentences; see ``assessments.wording.engine``."""
