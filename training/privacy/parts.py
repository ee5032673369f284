"""What is held about a person, told by each app: the parts of an export.

An app registers a ``Part`` for each kind of row that is about a person, and says of every other
column that names a person why it is not. A test walks all models and holds the apps to it.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from django.db.models import FileField, Model, Q, QuerySet
from django.db.models.fields.files import FieldFile

from training.models import Person

Files = Callable[[Any], Iterable[tuple[str, FieldFile]]]


def own_files(row: Any) -> Iterator[tuple[str, FieldFile]]:
    """Give the files that the row itself holds, by the name of the column."""
    for field in row._meta.concrete_fields:
        if isinstance(field, FileField) and getattr(row, field.name):
            yield field.name, getattr(row, field.name)


@dataclass(frozen=True)
class Part:
    """A kind of row about a person: ``paths`` are the lookups that lead from it to the person.

    ``title`` is a sentence for the person. ``leave`` names columns that are not given out, such
    as secrets. ``files`` gives the files that belong to a row.
    """

    key: str
    title: str
    model: type[Model]
    paths: tuple[str, ...]
    leave: tuple[str, ...] = ()
    files: Files = own_files

    def rows(self, person: Person) -> QuerySet[Any]:
        """Return the rows about ``person``."""
        meant = Q()
        for path in self.paths:
            meant |= Q(**{path: person.pk})
        manager = self.model._default_manager
        keys = manager.filter(meant).order_by().values("pk")
        return manager.filter(pk__in=keys).order_by("pk")

    def data(self, row: Any) -> dict[str, Any]:
        """Return the row as plain data; a file is told by its place in the storage."""
        found = {}
        for field in row._meta.concrete_fields:
            if field.name not in self.leave:
                value = field.value_from_object(row)
                found[field.attname] = str(value) if isinstance(value, FieldFile) else value
        return found


PARTS: dict[str, Part] = {}
NOT_ABOUT: dict[str, str] = {}


def personal_data(*parts: Part) -> None:
    """Register kinds of row about a person; ValueError for a key that is taken."""
    for part in parts:
        if part.key in PARTS and PARTS[part.key] != part:
            raise ValueError(f"{part.key} is told already")
        PARTS[part.key] = part


def not_about(reason: str, *columns: str) -> None:
    """Say of columns, such as ``training.Consent.by``, why their rows are not exported by them."""
    NOT_ABOUT.update(dict.fromkeys(columns, reason))


def about() -> set[str]:
    """Return the columns to a person by which the parts find their rows."""
    return {
        f"{part.model._meta.label}.{path}"
        for part in PARTS.values()
        for path in part.paths
        if "__" not in path
    }
