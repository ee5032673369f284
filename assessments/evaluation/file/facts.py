"""Facts for an evidence file, from sources that each app registers."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from assessments.evaluation.file.subjects import SUBJECTS, Subject
from training.models import Program


@dataclass(frozen=True)
class Held:
    """What the system holds of a subject: a sentence, and the page where it is seen."""

    subject: str
    text: str
    url: str = ""


@dataclass(frozen=True)
class Lacking:
    """What is missing: a sentence that says what to do, and the page to do it on.

    Without a page it is kept outside this system.
    """

    subject: str
    text: str
    url: str = ""
    label: str = ""


Fact = Held | Lacking
Source = Callable[[Program], Iterable[Fact]]
_sources: list[Source] = []


def fact_source(source: Source) -> Source:
    """Register ``source`` once; usable as a decorator. It asks a fixed number of queries."""
    if source not in _sources:
        _sources.append(source)
    return source


@dataclass(frozen=True)
class Entry:
    """A subject with what is held and what is missing."""

    subject: Subject
    held: Sequence[Held]
    lacking: Sequence[Lacking]

    @property
    def state(self) -> str:
        """held, partly or missing."""
        if not self.held:
            return "missing"
        return "partly" if self.lacking else "held"


def evidence_file_of(program: Program) -> list[Entry]:
    """Return every subject with its facts (a fixed number of queries for each source).

    Raises ValueError for a fact about a subject that there is not.
    """
    facts = [fact for source in _sources for fact in source(program)]
    known = {subject.key for subject in SUBJECTS}
    for fact in facts:
        if fact.subject not in known:
            raise ValueError(f"There is no subject {fact.subject!r} in the evidence file.")
    return [_entry(subject, facts) for subject in SUBJECTS]


def _entry(subject: Subject, facts: Sequence[Fact]) -> Entry:
    own = [fact for fact in facts if fact.subject == subject.key]
    held = [fact for fact in own if isinstance(fact, Held)]
    lacking = [fact for fact in own if isinstance(fact, Lacking)]
    if not own:
        lacking = [
            Lacking(subject.key, _("This system holds nothing on it: keep it beside this file."))
        ]
    return Entry(subject, held, lacking)
