"""Addresses of the own records; those below ``shown/`` need no sign-in."""

from django.urls import path

from certificates.views import own, shown

urlpatterns = [
    path("my-records/", own.my_records, name="my_records"),
    path("my-records/looks/", own.my_looks, name="my_looks"),
    path("my-records/links/", own.own_link_make, name="own_link_make"),
    path("my-records/links/<uuid:pk>/end/", own.own_link_end, name="own_link_end"),
    path("shown/<str:token>/", shown.shown, name="shown"),
    path(
        "shown/<str:token>/<str:number>-competency.pdf",
        shown.shown_pdf,
        {"kind": "competency"},
        name="shown_competency",
    ),
    path("shown/<str:token>/<str:number>.pdf", shown.shown_pdf, name="shown_pdf"),
]
