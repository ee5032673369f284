"""Addresses of the site log: what knows stages, attempts and hold points."""

from django.urls import path

from assessments.views.logged import log, note, shows

urlpatterns = [
    path("runs/<uuid:pk>/log/", log.run_log, name="run_log"),
    path("runs/<uuid:pk>/log/write/", note.run_log_write, name="run_log_write"),
    path("runs/<uuid:pk>/log/<str:day>.pdf", log.run_log_day, name="run_log_day"),
    path("log-notes/<uuid:pk>/", note.log_note, name="log_note"),
    path("log-notes/<uuid:pk>/correct/", note.log_note_correct, name="log_note_correct"),
    path(
        "log-notes/<uuid:pk>/photographs/", note.log_note_photographs, name="log_note_photographs"
    ),
    path("log-notes/<uuid:pk>/shows/", shows.log_note_shows, name="log_note_shows"),
    path("log-photographs/<uuid:pk>/", note.log_photo, name="log_photo"),
]
