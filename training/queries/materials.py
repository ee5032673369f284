"""What a program is taught from, and who may teach it."""

from dataclasses import dataclass, field
from datetime import date
from urllib.parse import urlencode

from django.db.models import Prefetch, QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _

from training.models import HeldDocument, Material, Module, Person, Program, Role
from training.queries.scope import programs_visible_to

LARGEST_BYTES = 100 * 1024 * 1024
INSTRUCTOR = "instructor"  # the kind of a paper by which an instructor is qualified


def size_sentence(size: int | None = None) -> str:
    """Return why a file of ``size`` bytes is too large, and what to do instead."""
    has = (
        _("This file has {size:,.0f} MB").format(size=size / 1024 / 1024)
        if size
        else _("This file is larger")
    )
    return _(
        "{has}: 100 MB at most are kept. Split it, or make its pictures and films smaller."
    ).format(has=has)


def materials_visible_to(person: Person) -> QuerySet[Material]:
    """Return the materials of the programs that the person leads, teaches or follows."""
    return Material.objects.filter(program__in=programs_visible_to(person).order_by().values("pk"))


@dataclass
class Shelf:
    """One material: its newest version, and the ones before, newest first."""

    newest: Material
    earlier: list[Material] = field(default_factory=list)

    @property
    def asked_for(self) -> str:
        """The query that asks the form for a further version of this material."""
        return urlencode({"module": self.newest.module_key, "title": self.newest.title})


def shelves_of(program: Program) -> dict[str, list[Shelf]]:
    """Return the materials by the key of their module, in order of title (one query)."""
    found: dict[tuple[str, str], Shelf] = {}
    rows = program.materials.select_related("uploaded_by").order_by(
        "module_key", "title", "-version"
    )
    for row in rows:
        place = (row.module_key, row.title)
        if place in found:
            found[place].earlier.append(row)
        else:
            found[place] = Shelf(row)
    shelves: dict[str, list[Shelf]] = {}
    for (module, _unused), shelf in found.items():
        shelves.setdefault(module, []).append(shelf)
    return shelves


def minutes_by_kind(modules: list[Module]) -> list[tuple[str, int]]:
    """Return (how it is taught, minutes) for each way that occurs, in the order of the ways."""
    return [
        (str(label), total)
        for kind, label in Module.Kind.choices
        if (total := sum(module.minutes for module in modules if module.kind == kind))
    ]


@dataclass(frozen=True)
class Teacher:
    """An instructor of a provider, with the papers that count today and those that lapsed."""

    person: Person
    held: list[HeldDocument]
    lapsed: list[HeldDocument]


def teachers_of(program: Program, on: date | None = None) -> list[Teacher]:
    """Return the provider's instructors with what qualifies them (two queries).

    A paper counts until the end of its last day; one taken back is not shown.
    """
    day = on or timezone.localdate()
    papers = HeldDocument.objects.filter(
        provider=program.provider_id, kind=INSTRUCTOR, taken_back__isnull=True
    )
    people = (
        Person.objects.filter(
            roles__organisation=program.provider_id, roles__kind=Role.Kind.INSTRUCTOR
        )
        .order_by("full_name", "pk")
        .prefetch_related(Prefetch("documents", papers, to_attr="papers"))
    )
    return [_teacher(person, day) for person in people]


def _teacher(person: Person, day: date) -> Teacher:
    papers: list[HeldDocument] = person.papers  # type: ignore[attr-defined]
    lapsed = [each for each in papers if each.expires_on is not None and each.expires_on < day]
    return Teacher(person, [each for each in papers if each not in lapsed], lapsed)
