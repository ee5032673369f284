"""Every attack by name; each makes a forgery of any signed record."""

from collections.abc import Callable

from tests.certificates.tamper import containers, shadows, signatures, updates
from tests.certificates.tamper.subject import Forgery, Subject

ATTACKS: dict[str, Callable[[Subject], Forgery]] = {
    **updates.ATTACKS,
    **shadows.ATTACKS,
    **signatures.ATTACKS,
    **containers.ATTACKS,
}
