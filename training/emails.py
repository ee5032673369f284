"""E-mail addresses as they are kept: plain letters, lower case."""

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.utils.translation import gettext as _

LONGEST_EMAIL = 254


def clean_email(typed: str) -> str:
    """Return the address in lower case, or raise ValueError with a sentence.

    >>> clean_email(" Ada@Example.ORG ")
    'ada@example.org'
    """
    email = typed.strip()
    if not email:
        raise ValueError(_("Write the person's e-mail address: it is what they sign in with."))
    if not email.isascii():
        raise ValueError(
            _(
                "“{email}” has letters that e-mail addresses here cannot hold: write it in "
                "unaccented letters (the xn-- form for such a domain)."
            ).format(email=email[:80])
        )
    if len(email) > LONGEST_EMAIL:
        raise ValueError(
            _("This address has {count} characters: {most} at most.").format(
                count=len(email), most=LONGEST_EMAIL
            )
        )
    try:
        validate_email(email)
    except ValidationError:
        raise ValueError(
            _("“{email}” is not an e-mail address: write one such as name@example.org.").format(
                email=email[:80]
            )
        ) from None
    return email.lower()
