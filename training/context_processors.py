"""What every page needs: the navigation of the person who looks at it."""

from django.http import HttpRequest
from django.urls import reverse

from training.models import Person, Role
from training.queries.guides import roles_and_guides
from training.queries.scope import TRAINEE

# Label, address by name, and who is shown it.
ENTRIES: tuple[tuple[str, str, frozenset[str]], ...] = (
    ("Programs", "program_list", frozenset({Role.Kind.LEAD, Role.Kind.INSTRUCTOR, TRAINEE})),
    ("Runs", "run_list", frozenset({Role.Kind.LEAD, Role.Kind.INSTRUCTOR})),
    ("People", "people", frozenset({Role.Kind.LEAD})),
    ("My sessions", "my_sessions", frozenset({Role.Kind.INSTRUCTOR, TRAINEE})),
    ("My results", "my_results", frozenset({TRAINEE})),
    ("My records", "my_records", frozenset({TRAINEE})),
    ("Crew", "crew", frozenset({Role.Kind.CONTRACTOR})),
    ("Projects", "project_list", frozenset({Role.Kind.CONTRACTOR, Role.Kind.OWNER})),
    ("Records", "record_list", frozenset(Role.Kind.values)),
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
        entries = [(label, name) for label, name, shown in ENTRIES if shown & roles]
    entries.append(("Check a record", "check"))
    links = [(label, reverse(name)) for label, name in entries]
    return {
        "guides_read": guides,
        "nav": [
            {"label": label, "url": url, "current": request.path.startswith(url)}
            for label, url in links
        ],
    }
