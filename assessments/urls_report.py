"""Addresses of the training report of a run."""

from django.urls import path

from assessments.views import report_files, reports

urlpatterns = [
    path("runs/<uuid:pk>/report/", reports.run_report, name="run_report"),
    path("runs/<uuid:pk>/report/preview/", reports.run_report_preview, name="run_report_preview"),
    path("runs/<uuid:pk>/report/make/", report_files.run_report_make, name="run_report_make"),
    path(
        "runs/<uuid:pk>/report/stages/<str:stage>/",
        reports.run_report_stage,
        name="run_report_stage",
    ),
    path(
        "runs/<uuid:pk>/report/pictures/<str:picture>.jpg",
        report_files.report_picture,
        name="report_picture",
    ),
    path("report-files/<uuid:pk>/", report_files.report_file, name="report_file"),
    path("report-files/<uuid:pk>/report.pdf", report_files.report_file_pdf, name="report_file_pdf"),
]
