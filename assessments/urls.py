"""Addresses of the app: the page of a run, the standard, scoring, the decision, results."""

from django.urls import path

from assessments.views import attempts, decide, result, results, run, score, standard, task_sheet

urlpatterns = [
    path("runs/<uuid:pk>/", run.run, name="run"),
    path("enrolments/<uuid:pk>/attempts/", attempts.attempt_start, name="attempt_start"),
    path("attempts/<uuid:pk>/", result.attempt, name="attempt"),
    path("attempts/<uuid:pk>/score/", score.attempt_score, name="attempt_score"),
    path(
        "attempts/<uuid:pk>/score/<str:kind>/<str:key>/",
        score.attempt_score_subject,
        name="attempt_score_subject",
    ),
    path("attempts/<uuid:pk>/decide/", decide.attempt_decide, name="attempt_decide"),
    path("my-results/", results.my_results, name="my_results"),
    path("programs/<uuid:pk>/coverage/", standard.program_coverage, name="program_coverage"),
    path("programs/<uuid:pk>/standard/", standard.standard, name="standard"),
    path("programs/<uuid:pk>/standard/seal/", standard.standard_seal, name="standard_seal"),
    path("standards/<uuid:pk>/", standard.sealed_standard, name="sealed_standard"),
    path("standards/<uuid:pk>/task-sheet/", task_sheet.task_sheet, name="task_sheet"),
    path("standards/<uuid:pk>/task-sheet.pdf", task_sheet.task_sheet_pdf, name="task_sheet_pdf"),
    path("programs/<uuid:pk>/task-sheet/", task_sheet.task_sheet_draft, name="task_sheet_draft"),
]
