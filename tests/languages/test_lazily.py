"""What a class body says is translated when it is shown, not when the module is read."""

import importlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django import forms
from django.apps import apps
from django.utils.functional import Promise

from tests.languages.messages import ROOT, tracked
from tests.languages.test_catalog import catalog, strings

OURS = ("training", "assessments", "certificates")


def known() -> set[str]:
    """The texts whose Spanish is another."""
    return {
        strings(each.id)[0]
        for each in catalog()
        if each.id and strings(each.id)[0] != strings(each.string)[0]
    }


def forms_of_ours() -> Iterator[type[forms.BaseForm]]:
    for path in tracked(*(f"{app}/forms" for app in OURS)):
        if path.suffix == ".py":
            relative = Path(path).relative_to(ROOT).with_suffix("")
            module = importlib.import_module(".".join(relative.parts))
            for found in vars(module).values():
                if isinstance(found, type) and issubclass(found, forms.BaseForm):
                    yield found


def said_by(field: forms.Field) -> Iterator[object]:
    yield from (field.label, field.help_text, *field.error_messages.values())
    if isinstance(field, forms.ChoiceField) and not isinstance(field, forms.ModelChoiceField):
        listed: Any = field.choices
        yield from (label for _value, label in listed)


def test_fields_of_forms() -> None:
    texts = known()
    early = {
        f"{form.__module__}.{form.__name__}.{name}: {said!r}"
        for form in forms_of_ours()
        for name, field in getattr(form, "base_fields", {}).items()
        for said in said_by(field)
        if isinstance(said, str) and not isinstance(said, Promise) and said in texts
    }
    assert not early, "\n".join(sorted(early))


def test_choices_of_models() -> None:
    texts = known()
    early = {
        f"{model.__name__}.{field.name}: {label!r}"
        for app in OURS
        for model in apps.get_app_config(app).get_models()
        for field in model._meta.get_fields()
        for _value, label in getattr(field, "flatchoices", ())
        if not isinstance(label, Promise) and label in texts
    }
    assert not early, "\n".join(sorted(early))
