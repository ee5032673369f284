"""Addresses about presence and questions."""

from django.urls import path

from training.views.presence import desk, device, hours, own, questions
from training.views.words import device_words

urlpatterns = [
    path("presence/", own.presence_code, name="presence_code"),
    path("presence/<str:token>/", own.presence_sign_in, name="presence_sign_in"),
    path("enrolments/<uuid:pk>/course/", own.my_course, name="my_course"),
    path("sessions/<uuid:pk>/code/", desk.session_code, name="session_code"),
    path("sessions/<uuid:pk>/presence/", desk.session_presence, name="session_presence"),
    path("sessions/<uuid:pk>/presence.pdf", hours.session_sheet, name="session_sheet"),
    path("sessions/<uuid:pk>/presence/<int:person_id>/", desk.presence_note, name="presence_note"),
    path("attendance/<uuid:pk>/correct/", desk.presence_correct, name="presence_correct"),
    path("runs/<uuid:pk>/hours/", hours.run_hours, name="run_hours"),
    path("runs/<uuid:pk>/hours.pdf", hours.run_hours_pdf, name="run_hours_pdf"),
    path("runs/<uuid:pk>/questions/", questions.run_questions, name="run_questions"),
    path("questions/<int:pk>/answer/", questions.question_answer, name="question_answer"),
    path("site/words/", device_words, name="device_words"),
    path("site/presence/", device.presence_site, name="presence_site"),
    path("site/presence/sw.js", device.presence_worker, name="presence_worker"),
    path("site/presence/sessions/", device.presence_roster, name="presence_roster"),
    path("site/presence/events/", device.presence_events, name="presence_events"),
]
