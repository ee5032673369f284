"""A file that a module is taught from."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _l

from training.models import Module, Program
from training.queries.materials import size_sentence


class ModuleChoice(forms.ModelChoiceField):  # type: ignore[type-arg]
    """A module, told by key and title."""

    def label_from_instance(self, obj: Any) -> str:
        """Return ``M1 Reading the stone``."""
        return f"{obj.key} {obj.title}"


class MaterialForm(forms.Form):
    """Module, title and file; what changed is asked for from the second version on."""

    module = ModuleChoice(
        label=_l("Module"),
        queryset=Module.objects.none(),
        empty_label=None,
        error_messages={"invalid_choice": _l("Choose a module of this program.")},
    )
    title = forms.CharField(
        label=_l("Title"),
        max_length=200,
        help_text=_l("The same title in the same module makes the next version of that material."),
        error_messages={"required": _l("Write the title of the material.")},
    )
    changed = forms.CharField(
        label=_l("What changed since the version before"),
        max_length=500,
        required=False,
        help_text=_l("Not needed for a first version."),
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    # Last, since what comes after a file that is let go does not arrive.
    file = forms.FileField(
        label=_l("File"),
        help_text=_l("Any kind of file, 100 MB at most."),
        max_length=1000,
        error_messages={
            "required": _l("Choose the file."),
            "empty": _l("This file is empty: send the file with its content."),
        },
    )

    def __init__(self, *args: Any, program: Program, too_large: bool = False, **kw: Any) -> None:
        super().__init__(*args, **kw)
        self.fields["module"].queryset = program.modules.all()  # type: ignore[attr-defined]
        self._too_large = too_large

    def clean(self) -> dict[str, Any]:
        """Say that a file was too large where the rest of it was let go while it came in."""
        values = super().clean() or {}
        if self._too_large:
            self.errors.pop("file", None)
            self.add_error("file", size_sentence())
        return values
