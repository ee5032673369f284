"""The papers that the scenario's people have shown, and the qualifications of its instructors."""

from collections.abc import Iterator, Mapping
from datetime import timedelta
from typing import Any

from django.utils import timezone

from training.actions.documents import keep_document
from training.models import Person, Program

Entry = Mapping[str, Any]


def keep_documents(
    told: Mapping[str, Any],
    *,
    lead: Person,
    people: Mapping[str, Person],
    programs: Mapping[str, Program],
) -> None:
    """Keep every paper of ``told`` (``documents`` of the scenario) as seen by ``lead``.

    ``kinds`` say what a paper is, by program and prerequisite or by ``instructor``; ``of`` says
    who has shown which, with what is different about it. A key without a list, such as
    ``DUTCHMAN:``, means all papers of that program. Days count from the day of telling.
    """
    today = timezone.localdate()
    for key, shown in told["of"].items():
        for program, kind, differs in _papers(told["kinds"], shown):
            paper = {**told["kinds"][program][kind], **differs}
            last = paper.get("expires_in_days")
            keep_document(
                actor=lead,
                person=people[key],
                provider=programs[program].provider,
                kind=kind,
                title=paper["title"],
                issuer=paper["issuer"],
                number=paper.get("number", ""),
                issued_on=today - timedelta(days=paper["issued_days_ago"]),
                expires_on=None if last is None else today + timedelta(days=last),
            )


def _papers(
    kinds: Mapping[str, Mapping[str, Entry]], shown: Mapping[str, Mapping[str, Entry] | None]
) -> Iterator[tuple[str, str, Entry]]:
    """Yield program, kind and what differs of each paper that somebody has shown."""
    for program, papers in shown.items():
        chosen = papers if papers is not None else {key: {} for key in _asked(kinds[program])}
        for kind, differs in chosen.items():
            yield program, kind, differs or {}


def _asked(kinds: Mapping[str, Entry]) -> list[str]:
    return [kind for kind in kinds if kind != "instructor"]
