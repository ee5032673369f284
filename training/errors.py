"""The one error that an action raises for something a person can mend."""

from django.utils.translation import gettext


class Refused(Exception):  # noqa: N818 (a refusal is no fault of the program)
    """An action was refused; ``message`` says what to do, ``field`` names the form field.

    ``field`` is None when no single field is at fault. A message that is a constant of a module
    is marked there (``gettext_noop``) and told here in the reader's language.
    """

    def __init__(self, message: str, *, field: str | None = None) -> None:
        self.message = gettext(message) if message else message
        super().__init__(self.message)
        self.field = field
