"""Time taught, as the pages of a program write it."""

from django import template

register = template.Library()


@register.filter
def hours(minutes: int) -> str:
    """Return a number of minutes in hours and minutes: ``90`` gives ``1 h 30 min``."""
    whole, rest = divmod(minutes, 60)
    parts = [f"{whole} h"] * bool(whole) + [f"{rest} min"] * bool(rest or not whole)
    return " ".join(parts)
