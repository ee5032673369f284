"""Changing a state column: compare-and-set against a table of allowed changes."""

from collections.abc import Mapping
from typing import TypeVar

from django.db import models
from django.utils.translation import gettext
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from training.errors import Refused

M = TypeVar("M", bound=models.Model)

# What the models with a state are called by themselves.
NAMES = (
    N_("attempt"),
    N_("course run"),
    N_("enrolment"),
    N_("judge"),
    N_("panel"),
    N_("review"),
)


def change_state(instance: M, *, to: str, allowed: Mapping[str, set[str]]) -> M:
    """Set ``instance.state`` to ``to`` if the row still holds the state that ``instance`` has.

    Raises Refused when the change is not in ``allowed``, or when somebody was faster.
    """
    current: str = instance.state  # type: ignore[attr-defined]
    name = gettext(str(instance._meta.verbose_name))
    if to not in allowed.get(current, set()):
        raise Refused(
            _("This {name} is {current}; it cannot become {to}.").format(
                name=name, current=_label(instance, current), to=_label(instance, to)
            )
        )
    changed = type(instance)._default_manager.filter(pk=instance.pk, state=current).update(state=to)
    if changed != 1:
        raise Refused(
            _("Somebody else changed this {name} meanwhile. Reload the page.").format(name=name)
        )
    instance.state = to  # type: ignore[attr-defined]
    return instance


def _label(instance: models.Model, state: str) -> str:
    choices = dict(instance._meta.get_field("state").flatchoices)  # type: ignore[union-attr]
    return str(choices.get(state, state)).lower()
