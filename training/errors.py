"""The one error that an action raises for something a person can mend."""


class Refused(Exception):  # noqa: N818 (a refusal is no fault of the program)
    """An action was refused; ``message`` says what to do, ``field`` names the form field.

    ``field`` is None when no single field is at fault.
    """

    def __init__(self, message: str, *, field: str | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.field = field
