"""E-mail addresses as they are kept: plain letters, lower case."""

from django.core.exceptions import ValidationError
from django.core.validators import validate_email

LONGEST_EMAIL = 254


def clean_email(typed: str) -> str:
    """Return the address in lower case, or raise ValueError with a sentence.

    >>> clean_email(" Ada@Example.ORG ")
    'ada@example.org'
    """
    email = typed.strip()
    if not email:
        raise ValueError("Write the person's e-mail address: it is what they sign in with.")
    if not email.isascii():
        raise ValueError(
            f"“{email[:80]}” has letters that e-mail addresses here cannot hold: write it in "
            "unaccented letters (the xn-- form for such a domain)."
        )
    if len(email) > LONGEST_EMAIL:
        raise ValueError(f"This address has {len(email)} characters: {LONGEST_EMAIL} at most.")
    try:
        validate_email(email)
    except ValidationError:
        raise ValueError(
            f"“{email[:80]}” is not an e-mail address: write one such as name@example.org."
        ) from None
    return email.lower()
