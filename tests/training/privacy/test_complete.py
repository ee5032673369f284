"""Nothing about a person is forgotten: neither by the export nor by the table of what is kept."""

from collections import Counter
from collections.abc import Iterator

from django.apps import apps
from django.db.models import Model

from training.models import Person
from training.privacy.parts import NOT_ABOUT, PARTS, about
from training.privacy.retention import RULES, table

# Rights and kinds of models: Django's own tables, which hold nothing about anybody here.
NOBODY = {"auth.Permission", "auth.Group", "contenttypes.ContentType"}


def columns_to_people() -> Iterator[str]:
    """Give every column, also of many to many, that leads to a person."""
    for model in apps.get_models():
        for field in model._meta.get_fields():
            if field.related_model is Person and not field.auto_created:
                yield f"{model._meta.label}.{field.name}"


def test_every_column_to_a_person_is_exported_or_says_why_not() -> None:
    columns = set(columns_to_people())
    assert len(columns) > 60
    assert columns - about() - NOT_ABOUT.keys() == set()
    assert about() & NOT_ABOUT.keys() == set()
    assert (about() | NOT_ABOUT.keys()) - columns == {"training.Person.pk"}
    assert all(len(reason) > 30 for reason in NOT_ABOUT.values())


def test_no_secret_is_exported() -> None:
    for part in PARTS.values():
        secret = {
            field.name
            for field in part.model._meta.concrete_fields
            if field.name in ("password", "token", "token_sha256")
        }
        assert secret <= set(part.leave), part.key


def test_every_kind_of_row_stands_once_in_the_table_of_what_is_kept() -> None:
    models: list[type[Model]] = apps.get_models()
    told = Counter(name for entry in table()[1] for name in entry.models)
    assert set(told) == {each._meta.label for each in models} - NOBODY
    assert [name for name, number in told.items() if number > 1] == []


def test_what_has_days_is_applied_and_nothing_else() -> None:
    days = {entry.key: entry.days for entry in table()[1] if entry.days}
    assert set(days) == set(RULES)
    for entry in table()[1]:
        assert "{" not in entry.keeps
        assert entry.days is None or str(entry.days) in entry.keeps
