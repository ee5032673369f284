"""Whether people may go to the practical task: the papers that a program asks for.

A paper fits a prerequisite when its kind is the prerequisite's key, it was shown to the program's
provider, nobody took it back, and the day lies from its issue up to its last day. All of it is
worked out from two tables, for any number of people at once.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from django.utils import timezone
from django.utils.translation import gettext as _

from training.dates import day_text
from training.models import (
    CourseRun,
    Enrolment,
    HeldDocument,
    Organisation,
    Person,
    Program,
    ProgramPrerequisite,
    Site,
)
from training.queries.papers import INSTRUCTOR

Applies = ProgramPrerequisite.Applies
Papers = Mapping[tuple[int, int, str], Sequence[HeldDocument]]
HELD, LAPSING, LAPSED, LATER, TAKEN_BACK, MISSING = (
    "held", "lapsing", "lapsed", "later", "taken_back", "missing"
)  # fmt: skip
FITS = (HELD, LAPSING)


@dataclass(frozen=True)
class Missing:
    """A prerequisite that a person does not meet; ``reason`` is a sentence that says what to do."""

    key: str
    title: str
    reason: str
    applies: str = Applies.PRACTICAL


@dataclass(frozen=True)
class Standing:
    """How a person stands at one prerequisite on a day, and the paper that says so, if any.

    ``state`` is ``held``, ``lapsing`` (holds on the day, but not to the end), ``lapsed``,
    ``later`` (issued after the day), ``taken_back`` or ``missing``.
    """

    prerequisite: ProgramPrerequisite
    state: str
    document: HeldDocument | None = None

    @property
    def fits(self) -> bool:
        """Whether it is met on the day."""
        return self.state in FITS

    @property
    def reason(self) -> str:
        """What is wrong, since when, and what to bring."""
        title, bring = (
            self.prerequisite.title,
            _("Bring: {sentence}").format(sentence=_sentence(self.prerequisite.accepts)),
        )
        paper = self.document
        if paper is None:
            return _("{title}: no paper was shown. {bring}").format(title=title, bring=bring)
        if self.state == LAPSED:
            return _("{title}: lapsed, the paper's last day is {expires_on}. {bring}").format(
                title=title, expires_on=day_text(paper.expires_on), bring=bring
            )
        if self.state == LATER:
            return _("{title}: the paper holds only from {issued_on} on. {bring}").format(
                title=title, issued_on=day_text(paper.issued_on), bring=bring
            )
        if self.state == TAKEN_BACK:
            at = timezone.localtime(paper.taken_back.at)
            return _("{title}: the paper counts no longer since {at}. {bring}").format(
                title=title, at=day_text(at), bring=bring
            )
        return _("{title}: held.").format(title=title)


def unfit(
    people: Iterable[Person | Enrolment], program: Program, on: date, applies: str | None = None
) -> dict[int, list[Missing]]:
    """Return what is missing or lapsed on the day ``on``, by the person's id (two queries).

    People who lack nothing are left out. With ``applies`` only prerequisites of that kind
    ('practical' or 'course') count. A program without prerequisites asks nothing of anybody.
    """
    wanted = program.prerequisites.all()
    if applies is not None:
        wanted = wanted.filter(applies=applies)
    return missing_of(people, program, list(wanted), on)


def missing_of(
    people: Iterable[Person | Enrolment],
    program: Program,
    prerequisites: Sequence[ProgramPrerequisite],
    on: date,
) -> dict[int, list[Missing]]:
    """Return what ``unfit`` does, for prerequisites read before (one query, none without any)."""
    ids = {_person_id(each) for each in people}
    papers = papers_of(ids, [program.provider_id], [each.key for each in prerequisites])
    found = {
        person: [
            Missing(each.key, each.title, standing.reason, each.applies)
            for each in prerequisites
            if not (standing := stand(papers, person, program.provider_id, each, on)).fits
        ]
        for person in ids
    }
    return {person: missing for person, missing in found.items() if missing}


def papers_of(people: Iterable[int], providers: Iterable[int], kinds: Iterable[str]) -> Papers:
    """Return papers by (person, provider, kind), also those taken back (at most one query)."""
    people, kinds = set(people), set(kinds)
    found: dict[tuple[int, int, str], list[HeldDocument]] = defaultdict(list)
    if people and kinds:
        rows = HeldDocument.objects.filter(
            person__in=people, provider__in=set(providers), kind__in=kinds
        ).select_related("taken_back")
        for row in rows:
            found[row.person_id, row.provider_id, row.kind].append(row)
    return found


def stand(
    papers: Papers,
    person: int,
    provider: int,
    prerequisite: ProgramPrerequisite,
    on: date,
    until: date | None = None,
) -> Standing:
    """Return how ``person`` stands on the day ``on``; ``until`` is the day it should last to."""
    held = papers.get((person, provider, prerequisite.key), ())
    valid = [each for each in held if not hasattr(each, "taken_back")]
    fitting = [each for each in valid if fits_on(each, on)]
    if fitting:
        last = max(fitting, key=lambda each: each.expires_on or date.max)
        # Another paper may take over before this one lapses, so the last day is looked at itself.
        lasts = until is None or any(fits_on(each, max(on, until)) for each in valid)
        return Standing(prerequisite, HELD if lasts else LAPSING, last)
    before = [each for each in valid if each.expires_on and each.expires_on < on]
    if before:
        return Standing(prerequisite, LAPSED, max(before, key=lambda each: each.expires_on or on))
    if valid:
        return Standing(prerequisite, LATER, min(valid, key=lambda each: each.issued_on))
    if held:
        return Standing(prerequisite, TAKEN_BACK, max(held, key=lambda each: each.taken_back.at))
    return Standing(prerequisite, MISSING)


def fits_on(document: HeldDocument, on: date) -> bool:
    """Say whether the paper holds on a day; whether it was taken back is asked elsewhere."""
    return document.issued_on <= on and (document.expires_on is None or on <= document.expires_on)


def unqualified(people: Iterable[Person], provider: Organisation, on: date) -> list[Person]:
    """Return those of ``people`` who have shown no instructor's qualification that holds."""
    people = list(people)
    papers = papers_of([each.pk for each in people], [provider.pk], [INSTRUCTOR])
    return [
        each
        for each in people
        if not any(
            fits_on(paper, on) and not hasattr(paper, "taken_back")
            for paper in papers.get((each.pk, provider.pk, INSTRUCTOR), ())
        )
    ]


def day_at(site: Site) -> date:
    """Return today's date at a site."""
    return timezone.now().astimezone(ZoneInfo(site.time_zone)).date()


def day_of_judging(run: CourseRun) -> date:
    """Return the day on which papers have to hold: today at the site, else the run's first."""
    return max(day_at(run.site), run.starts_on)


def _person_id(each: Person | Enrolment) -> int:
    return each.person_id if isinstance(each, Enrolment) else each.pk


def _sentence(text: str) -> str:
    text = text.strip()
    return text if text.endswith((".", "!", "?")) else f"{text}."
