"""Part of the table of ``tests/test_roles.py``: what follows a result, and the own account."""

from tests.roles_table_course import SIGNED_IN


# name: (method, statuses for lead, instructor, trainee, contractor, owner, stranger, nobody)
TRAINEE_TABLE: dict[str, tuple[str, tuple[int, ...]]] = {
    "account": ("get", SIGNED_IN),
    "language": ("post", (302, 302, 302, 302, 302, 302, 302)),
}
