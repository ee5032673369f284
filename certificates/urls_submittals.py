"""Addresses of the crew's submittals; those below ``shared/`` need no sign-in."""

from django.urls import path

from certificates.views import links, shared, submittals

urlpatterns = [
    path("projects/<uuid:pk>/submittals/", submittals.submittals, name="submittals"),
    path("submittals/<uuid:pk>/submittal.pdf", submittals.submittal_pdf, name="submittal_pdf"),
    path("submittals/<uuid:pk>/submittal.zip", submittals.submittal_zip, name="submittal_zip"),
    path("projects/<uuid:pk>/links/", links.link_make, name="link_make"),
    path("projects/<uuid:pk>/links/<uuid:link>/", links.link, name="link"),
    path("projects/<uuid:pk>/links/<uuid:link>/revoke/", links.link_revoke, name="link_revoke"),
    path("shared/<str:token>/", shared.shared, name="shared"),
    path("shared/<str:token>/submittal-<int:number>.pdf", shared.shared_pdf, name="shared_pdf"),
    path("shared/<str:token>/submittal-<int:number>.zip", shared.shared_zip, name="shared_zip"),
]
