"""Addresses of what trainees say after a run, of complaints, and of changes decided."""

from django.urls import path

from training.views import evaluation
from training.views.outside_contact import outside_contact

urlpatterns = [
    path("enrolments/<uuid:pk>/reaction/", evaluation.reaction_new, name="reaction_new"),
    path("runs/<uuid:pk>/reactions/", evaluation.run_reactions, name="run_reactions"),
    path("runs/<uuid:pk>/complaints/new/", evaluation.complaint_new, name="complaint_new"),
    path("complaints/", evaluation.complaint_list, name="complaint_list"),
    path("complaints/<uuid:pk>/", evaluation.complaint, name="complaint"),
    path("providers/<int:pk>/outside-contact/", outside_contact, name="outside_contact"),
    path("programs/<uuid:pk>/decided-changes/", evaluation.program_changes, name="program_changes"),
    path("decided-changes/<int:pk>/done/", evaluation.change_done, name="change_done"),
]
