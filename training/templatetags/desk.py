"""Time taught, as the pages of a program write it."""

from django import template
from django.utils.translation import gettext as _

register = template.Library()


@register.filter
def hours(minutes: int) -> str:
    """Return a number of minutes in hours and minutes: ``90`` gives ``1 h 30 min``."""
    whole, rest = divmod(minutes, 60)
    parts = [f"{whole} h"] * bool(whole) + [_("{rest} min").format(rest=rest)] * bool(
        rest or not whole
    )
    return " ".join(parts)
