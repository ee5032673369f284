"""What every page needs: the navigation of the person who looks at it."""

from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from training.models import Person, Role
from training.queries.guides import roles_and_guides
from training.queries.scope import TRAINEE

# Label, address by name, and who is shown it.
ENTRIES: tuple[tuple[str, str, frozenset[str]], ...] = (
    (N_("Programs"), "program_list", frozenset({Role.Kind.LEAD, Role.Kind.INSTRUCTOR, TRAINEE})),
    (N_("Runs"), "run_list", frozenset({Role.Kind.LEAD, Role.Kind.INSTRUCTOR})),
    (N_("People"), "people", frozenset({Role.Kind.LEAD})),
    (N_("Reviews"), "reviews", frozenset({Role.Kind.LEAD})),
    (N_("My sessions"), "my_sessions", frozenset({Role.Kind.INSTRUCTOR, TRAINEE})),
    (N_("My results"), "my_results", frozenset({TRAINEE})),
    (N_("My records"), "my_records", frozenset({TRAINEE})),
    (N_("Crew"), "crew", frozenset({Role.Kind.CONTRACTOR})),
    (N_("Projects"), "project_list", frozenset({Role.Kind.CONTRACTOR, Role.Kind.OWNER})),
    (N_("Records"), "record_list", frozenset(Role.Kind.values)),
)


def navigation(request: HttpRequest) -> dict[str, object]:
    """Return ``nav``, a list of {label, url, current} for the person's roles, and ``guides_read``.

    One query.
    """
    entries: list[tuple[str, str]] = []
    guides: frozenset[str] = frozenset()
    # A page of an error may come before anybody was recognised.
    person = getattr(request, "user", None)
    if isinstance(person, Person):
        roles, guides = roles_and_guides(person)
        entries = [(_(label), name) for label, name, shown in ENTRIES if shown & roles]
    entries.append((_("Check a record"), "check"))
    links = [(label, reverse(name)) for label, name in entries]
    return {
        "guides_read": guides,
        "nav": [
            {"label": label, "url": url, "current": request.path.startswith(url)}
            for label, url in links
        ],
    }
