"""Addresses of the crew's register."""

from django.urls import path

from certificates.views import crew_files, mason

urlpatterns = [
    path("crew/crew.csv", crew_files.crew_csv, name="crew_csv"),
    path("crew/crew.xlsx", crew_files.crew_xlsx, name="crew_xlsx"),
    path("crew/<int:pk>/", mason.mason, name="mason"),
    path("crew/feed/", crew_files.crew_feed_make, name="crew_feed_make"),
    path("crew/feed/<uuid:pk>/revoke/", crew_files.crew_feed_revoke, name="crew_feed_revoke"),
    path("crew/feed/<str:token>.ics", crew_files.crew_feed, name="crew_feed"),
]
