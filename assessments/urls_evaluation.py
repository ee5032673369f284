"""Addresses of a program's evaluation and of its evidence file."""

from django.urls import path

from assessments.views import evaluation

urlpatterns = [
    path(
        "programs/<uuid:pk>/evaluation/", evaluation.program_evaluation, name="program_evaluation"
    ),
    path("programs/<uuid:pk>/evaluation.pdf", evaluation.evaluation_pdf, name="evaluation_pdf"),
    path(
        "programs/<uuid:pk>/evaluation.<str:form>",
        evaluation.evaluation_tables,
        name="evaluation_tables",
    ),
    path("programs/<uuid:pk>/evidence-file/", evaluation.evidence_file, name="evidence_file"),
    path(
        "programs/<uuid:pk>/evidence-file.pdf",
        evaluation.evidence_file_pdf,
        name="evidence_file_pdf",
    ),
]
