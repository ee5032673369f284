"""The languages of the site, each in its own words."""

from django import template
from django.conf import settings
from django.utils.translation import get_language

register = template.Library()


@register.simple_tag
def other_languages() -> list[tuple[str, str]]:
    """Return code and name of every language but the one that is spoken now.

    Django's own tag translates the names, so who reads no Spanish would not find "English".
    """
    now = get_language()
    return [(code, name) for code, name in settings.LANGUAGES if code != now]
