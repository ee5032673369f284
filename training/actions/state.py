"""Changing a state column: compare-and-set against a table of allowed changes."""

from collections.abc import Mapping
from typing import TypeVar

from django.db import models

from training.errors import Refused

M = TypeVar("M", bound=models.Model)


def change_state(instance: M, *, to: str, allowed: Mapping[str, set[str]]) -> M:
    """Set ``instance.state`` to ``to`` if the row still holds the state that ``instance`` has.

    Raises Refused when the change is not in ``allowed``, or when somebody was faster.
    """
    current: str = instance.state  # type: ignore[attr-defined]
    name = instance._meta.verbose_name
    if to not in allowed.get(current, set()):
        raise Refused(f"This {name} is {current}; it cannot become {to}.")
    changed = type(instance)._default_manager.filter(pk=instance.pk, state=current).update(state=to)
    if changed != 1:
        raise Refused(f"Somebody else changed this {name} meanwhile. Reload the page.")
    instance.state = to  # type: ignore[attr-defined]
    return instance
