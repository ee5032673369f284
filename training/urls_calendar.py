"""Addresses of the calendar of a run, of its places and waiting list, and of one's own sessions."""

from django.urls import path

from training.views import calendar, my_sessions, places, session_lists, sessions, waiting

urlpatterns = [
    path("runs/<uuid:pk>/calendar/", calendar.run_calendar, name="run_calendar"),
    path("runs/<uuid:pk>/calendar/publish/", calendar.calendar_publish, name="calendar_publish"),
    path("runs/<uuid:pk>/sessions/new/", sessions.session_new, name="session_new"),
    path(
        "runs/<uuid:pk>/sessions/propose/", session_lists.sessions_propose, name="sessions_propose"
    ),
    path("sessions/<uuid:pk>/edit/", sessions.session_edit, name="session_edit"),
    path("sessions/<uuid:pk>/copy/", session_lists.session_copy, name="session_copy"),
    path("sessions/<uuid:pk>/cancel/", sessions.session_cancel, name="session_cancel"),
    path("runs/<uuid:pk>/places/", waiting.run_capacity, name="run_capacity"),
    path("enrolments/<uuid:pk>/put-first/", waiting.waiting_first, name="waiting_first"),
    path("sites/<int:pk>/places/", places.place_list, name="place_list"),
    path("sites/<int:pk>/places/new/", places.place_new, name="place_new"),
    path("places/<int:pk>/", places.place_edit, name="place_edit"),
    path("my-sessions/", my_sessions.my_sessions, name="my_sessions"),
    path("my-sessions/address/", my_sessions.person_feed_make, name="person_feed_make"),
    path("my-sessions/address/revoke/", my_sessions.person_feed_revoke, name="person_feed_revoke"),
    path("my-sessions/<str:token>.ics", my_sessions.person_feed, name="person_feed"),
]
