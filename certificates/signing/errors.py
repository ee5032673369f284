"""What can go wrong while signing; each text is a sentence that says what to do."""


class KeyStoreError(Exception):
    """The issuing key cannot be used."""


class SigningRefused(Exception):  # noqa: N818 - named like training.errors.Refused
    """This PDF cannot be signed as a record."""
