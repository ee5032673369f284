"""Part of the table of ``tests/test_roles.py``: what follows a result, and the own account."""

from tests.roles_table_course import PUBLIC, SIGN_IN, SIGNED_IN

# name: (method, statuses for lead, instructor, trainee, contractor, owner, stranger, nobody)
TRAINEE_TABLE: dict[str, tuple[str, tuple[int, ...]]] = {
    "account": ("get", SIGNED_IN),
    "account_pin": ("get", SIGNED_IN),
    "account_pin_remove": ("post", (302,) * 7),
    "attempt_acknowledge": ("get", (200, 200, 200, 404, 404, 404, SIGN_IN)),
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
    "attempt_plan": ("get", (200, 200, 200, 404, 404, 404, SIGN_IN)),
    # The attempt of the table met its standard: nothing is to be practised after it.
    "attempt_plan_propose": ("get", (302, 302, 302, 404, 404, 404, SIGN_IN)),
    "attempt_example": ("get", (404, 404, 404, 404, 404, 404, SIGN_IN)),
    "plan_agree": ("post", (302, 302, 302, 404, 404, 404, SIGN_IN)),
    "plan_item_done": ("post", (302, 302, 302, 404, 404, 404, SIGN_IN)),
    "my_looks": ("get", SIGNED_IN),
    "my_records": ("get", SIGNED_IN),
    # Nothing is sent, so the form comes back.
    "own_link_make": ("post", (422, 422, 422, 422, 422, 422, SIGN_IN)),
    "own_link_end": ("post", (404, 404, 302, 404, 404, 404, SIGN_IN)),
    "shown": ("get", PUBLIC),
    "shown_pdf": ("get", (404,) * 7),
    "shown_competency": ("get", (404,) * 7),
    "outside_contact": ("get", (200, 404, 404, 404, 404, 404, SIGN_IN)),
    "progress": ("get", (200, 200, 200, 404, 404, 404, SIGN_IN)),
    "practice_piece_new": ("get", (200, 200, 403, 404, 404, 404, SIGN_IN)),
    "practice_piece": ("get", (200, 200, 200, 404, 404, 404, SIGN_IN)),
    "practice_score": ("get", (200, 200, 403, 404, 404, 404, SIGN_IN)),
    "run_progress": ("get", (200, 200, 404, 404, 404, 404, SIGN_IN)),
    # A review that the trainee asked for and nobody was given yet.
    "review_ask": ("get", (403, 403, 200, 404, 404, 404, SIGN_IN)),
    "reviews": ("get", SIGNED_IN),
    "review": ("get", (200, 404, 200, 404, 404, 404, SIGN_IN)),
    "review_take_back": ("post", (403, 404, 302, 404, 404, 404, SIGN_IN)),
    "review_give": ("get", (200, 404, 403, 404, 404, 404, SIGN_IN)),
    "review_step_down": ("get", (403, 404, 403, 404, 404, 404, SIGN_IN)),
    "review_criterion": ("get", (403, 404, 403, 404, 404, 404, SIGN_IN)),
    "review_rest": ("get", (403, 404, 403, 404, 404, 404, SIGN_IN)),
    "review_finish": ("post", (403, 404, 403, 404, 404, 404, SIGN_IN)),
    "review_answer": ("get", (403, 404, 403, 404, 404, 404, SIGN_IN)),
    "review_photo": ("get", (200, 404, 200, 404, 404, 404, SIGN_IN)),
    "attempt_retake": ("get", (200, 200, 403, 404, 404, 404, SIGN_IN)),
    # The attempt of the table met its standard: the page says that nothing is to be made again.
    "retake_day": ("post", (422, 422, 403, 404, 404, 404, SIGN_IN)),
    "retake_day_give_up": ("post", (422, 422, 403, 404, 404, 404, SIGN_IN)),
}
