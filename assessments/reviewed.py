"""What follows the outcome of a review; apps above register it, in their ``AppConfig.ready()``."""

from collections.abc import Callable

from assessments.models import Review
from training.models import Person

Follow = Callable[[Review, Person], None]
_follows: list[Follow] = []


def on_review(follow: Follow) -> Follow:
    """Register ``follow`` once; usable as a decorator.

    It is called with an answered review and who answered it, inside the transaction of the
    answer: what it raises undoes the answer too.
    """
    if follow not in _follows:
        _follows.append(follow)
    return follow


def call_all(review: Review, actor: Person) -> None:
    """Let everything follow that was registered, in that order."""
    for follow in _follows:
        follow(review, actor)
