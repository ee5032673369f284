"""Addresses of the app: the page of a run, the standard, scoring, the decision, results."""

from django.urls import path

from assessments.views import (
    attempts,
    decide,
    evidence,
    result,
    results,
    run,
    score,
    standard,
    task_sheet,
)
from assessments.views.calibration import assessors, own, references, sittings
from assessments.views.panel import adoption, judge, lead, report
from assessments.views.site import shell

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
    path("programs/<uuid:pk>/assessors/", assessors.assessors, name="assessors"),
    path("programs/<uuid:pk>/assessors/<int:person>/", assessors.assessor, name="assessor"),
    path("programs/<uuid:pk>/references/new/", references.reference_new, name="reference_new"),
    path("references/<uuid:pk>/", references.reference, name="reference"),
    path("references/<uuid:pk>/retire/", references.reference_retire, name="reference_retire"),
    path("references/<uuid:pk>/sittings/", own.sitting_start, name="sitting_start"),
    path("calibration/", own.calibration, name="calibration"),
    path("sittings/<uuid:pk>/", sittings.sitting, name="sitting"),
    path("sittings/<uuid:pk>/finish/", sittings.sitting_finish, name="sitting_finish"),
    path(
        "sittings/<uuid:pk>/criteria/<str:key>/",
        sittings.sitting_criterion,
        name="sitting_criterion",
    ),
    path("programs/<uuid:pk>/panels/new/", lead.panel_new, name="panel_new"),
    path("panels/<uuid:pk>/", lead.panel, name="panel"),
    path("panels/<uuid:pk>/change/", lead.panel_change, name="panel_change"),
    path("panels/<uuid:pk>/invite/", lead.panel_invite, name="panel_invite"),
    path(
        "panels/<uuid:pk>/judges/<int:judge>/link/", lead.panel_judge_link, name="panel_judge_link"
    ),
    path(
        "panels/<uuid:pk>/judges/<int:judge>/stand-down/",
        lead.panel_stand_down,
        name="panel_stand_down",
    ),
    path("panels/<uuid:pk>/rounds/open/", lead.panel_open_round, name="panel_open_round"),
    path("panels/<uuid:pk>/rounds/close/", lead.panel_close_round, name="panel_close_round"),
    path("panels/<uuid:pk>/end/", lead.panel_end, name="panel_end"),
    path("panels/<uuid:pk>/abandon/", lead.panel_abandon, name="panel_abandon"),
    path("judging/", judge.judging, name="judging"),
    path("judging/<int:seat>/", judge.judging_seat, name="judging_seat"),
    path("judging/<int:seat>/stand-down/", judge.judging_stand_down, name="judging_stand_down"),
    path("judging/<int:seat>/check/", judge.judging_check, name="judging_check"),
    path("judging/<int:seat>/<str:kind>/<str:key>/", judge.judging_subject, name="judging_subject"),
    path(
        "panels/<uuid:pk>/recommendation/",
        adoption.panel_recommendation,
        name="panel_recommendation",
    ),
    path("panels/<uuid:pk>/adopt/", adoption.panel_adopt, name="panel_adopt"),
    path("panels/<uuid:pk>/report.pdf", report.panel_report, name="panel_report"),
    path("panels/<uuid:pk>/ratings.<str:kind>", report.panel_ratings, name="panel_ratings"),
    path("programs/<uuid:pk>/evidence/", evidence.program_evidence, name="program_evidence"),
    path("standards/<uuid:pk>/evidence/", evidence.evidence, name="evidence"),
    path("standards/<uuid:pk>/evidence/make/", evidence.evidence_make, name="evidence_make"),
    path("evidence/<uuid:pk>/", evidence.evidence_report, name="evidence_report"),
    path("evidence/<uuid:pk>/report.pdf", evidence.evidence_pdf, name="evidence_pdf"),
    path("evidence/<uuid:pk>/tables.<str:form>", evidence.evidence_tables, name="evidence_tables"),
    path("site/", shell.site, name="site"),
    path("site/manifest.webmanifest", shell.site_manifest, name="site_manifest"),
    path("sw.js", shell.site_worker, name="site_worker"),
]
