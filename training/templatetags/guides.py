"""The guide of a page: shown until it is put away, then behind a '?'."""

from typing import Any

from django import template

from training.guides.texts import guide_by_page, guides
from training.models import Person

register = template.Library()


@register.inclusion_tag("includes/guide.html", takes_context=True)
def guide(context: dict[str, Any], key: str = "") -> dict[str, Any]:
    """Show the guide ``key``, or that of the page; nothing to whoever is not signed in.

    Asks nothing of the database. ``?guide=key`` in the address shows it again.
    """
    request = context.get("request")
    person = getattr(request, "user", None)
    match = getattr(request, "resolver_match", None)
    found = guides()[key] if key else guide_by_page().get(match.url_name if match else "")
    if request is None or found is None or not isinstance(person, Person):
        return {"guide": None}
    asked = request.GET.get("guide") == found.key
    read = not asked and found.key in context.get("guides_read", ())
    return {
        "guide": found,
        "read": read,
        "here": request.path,
        "csrf_token": context.get("csrf_token"),
    }
