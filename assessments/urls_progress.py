"""Addresses of practice plans, practice pieces and progress."""

from django.urls import path

from assessments.views.progress import pages, pieces, plans

urlpatterns = [
    path("attempts/<uuid:pk>/plan/", plans.attempt_plan, name="attempt_plan"),
    path(
        "attempts/<uuid:pk>/plan/propose/", plans.attempt_plan_propose, name="attempt_plan_propose"
    ),
    path("plans/<uuid:pk>/agree/", plans.plan_agree, name="plan_agree"),
    path("plan-items/<int:pk>/done/", plans.plan_item_done, name="plan_item_done"),
    path(
        "attempts/<uuid:pk>/examples/<uuid:photo>/", plans.attempt_example, name="attempt_example"
    ),
    path("enrolments/<uuid:pk>/progress/", pages.progress, name="progress"),
    path("enrolments/<uuid:pk>/practice/", pieces.practice_piece_new, name="practice_piece_new"),
    path("practice-pieces/<uuid:pk>/", pieces.practice_piece, name="practice_piece"),
    path(
        "practice-pieces/<uuid:pk>/criteria/<str:key>/",
        pieces.practice_score,
        name="practice_score",
    ),
    path("runs/<uuid:pk>/progress/", pages.run_progress, name="run_progress"),
]
