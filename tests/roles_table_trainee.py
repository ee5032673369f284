"""Part of the table of ``tests/test_roles.py``: what follows a result, and the own account."""

from tests.roles_table_course import PUBLIC, SIGNED_IN, SIGN_IN


# name: (method, statuses for lead, instructor, trainee, contractor, owner, stranger, nobody)
TRAINEE_TABLE: dict[str, tuple[str, tuple[int, ...]]] = {
    "account": ("get", SIGNED_IN),
    "language": ("post", (302, 302, 302, 302, 302, 302, 302)),
    "sign_in_link_ask": ("get", PUBLIC),
    "sign_in_link_sent": ("get", PUBLIC),
    "sign_in_link": ("get", (410,) * 7),
    "passkey_sign_in_options": ("post", PUBLIC),
    "passkey_sign_in": ("post", (302,) * 7),
    "passkey_new": ("get", SIGNED_IN),
    "passkey_new_options": ("post", SIGNED_IN),
    "passkey_remove": ("post", (404, 404, 302, 404, 404, 404, SIGN_IN)),
    "own_password_link": ("post", (302,) * 7),
}
