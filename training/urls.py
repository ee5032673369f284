"""Addresses of the app. The page of one run belongs to the app above, which knows attempts."""

from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LogoutView
from django.urls import include, path

from training.views import enrol, home, people, programs, runs, sign

urlpatterns = [
    path("", home.home, name="home"),
    path("healthz", home.healthz, name="healthz"),
    path("sign-in/", sign.SignIn.as_view(), name="sign_in"),
    path("sign-out/", login_not_required(LogoutView.as_view()), name="sign_out"),
    path("password/", sign.ChangePassword.as_view(), name="change_password"),
    path("password/<uidb64>/<token>/", sign.SetPassword.as_view(), name="set_password"),
    path("programs/", programs.program_list, name="program_list"),
    path("programs/<uuid:pk>/", programs.program, name="program"),
    path("runs/", runs.run_list, name="run_list"),
    path("runs/new/", runs.run_new, name="run_new"),
    path("runs/<uuid:pk>/enrol/", enrol.run_enrol, name="run_enrol"),
    path("runs/<uuid:pk>/enrol-list/", enrol.run_enrol_file, name="run_enrol_file"),
    path("runs/<uuid:pk>/instructors/", runs.run_instructor, name="run_instructor"),
    path("runs/<uuid:pk>/open/", runs.run_open, name="run_open"),
    path("runs/<uuid:pk>/close/", runs.run_close, name="run_close"),
    path("enrolments/<uuid:pk>/withdraw/", enrol.run_withdraw, name="run_withdraw"),
    path("sites/new/", runs.site_new, name="site_new"),
    path("people/", people.people, name="people"),
    path("people/new/", people.person_new, name="person_new"),
    path("people/<int:pk>/", people.person, name="person"),
    path("people/<int:pk>/password-link/", people.person_link, name="person_link"),
    path("people/<int:pk>/roles/<int:role>/take/", people.role_take, name="role_take"),
    path("organisations/new/", people.organisation_new, name="organisation_new"),
    path("", include("training.urls_employment")),
    path("", include("training.urls_privacy")),
    path("", include("training.urls_help")),
    path("", include("training.urls_calendar")),
    path("", include("training.urls_fit")),
    path("", include("training.urls_evaluation")),
    path("", include("training.urls_desk")),
    path("", include("training.urls_sitelog")),
    path("", include("training.urls_presence")),
    path("", include("training.urls_account")),
    path("", include("training.urls_passwordless")),
]
