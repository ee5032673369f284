"""Addresses of the app; those below ``check/`` need no sign-in."""

from django.urls import include, path

from certificates.views import (
    check,
    check_file,
    checker,
    correct,
    credentials,
    crew,
    issuers,
    jobs,
    keys,
    records,
    status,
)

urlpatterns = [
    path("records/", records.record_list, name="record_list"),
    path("records/<str:number>/", status.record_page, name="record"),
    path("records/<str:number>/suspend/", status.record_suspend, name="record_suspend"),
    path("records/<str:number>/restore/", status.record_restore, name="record_restore"),
    path("records/<str:number>/withdraw/", status.record_withdraw, name="record_withdraw"),
    path("records/<str:number>/withdrawal/", status.record_withdrawal, name="record_withdrawal"),
    path("records/<str:number>/correct/", correct.record_correct, name="record_correct"),
    path("records/<str:number>/record.pdf", records.record_pdf, name="record_pdf"),
    path(
        "records/<str:number>/competency.pdf",
        records.record_pdf,
        {"kind": "competency"},
        name="record_competency",
    ),
    path("decisions/<uuid:pk>/issue/", records.record_issue, name="record_issue"),
    path("runs/<uuid:pk>/records/", jobs.run_records, name="run_records"),
    path("crew/", crew.crew, name="crew"),
    path("", include("certificates.urls_projects")),
    path("", include("certificates.urls_coverage")),
    path("", include("certificates.urls_register")),
    path("", include("certificates.urls_submittals")),
    path("", include("certificates.urls_days")),
    path("", include("certificates.urls_continuity")),
    path("check/", check.check, name="check"),
    path("check/file/", check_file.check_file_page, name="check_file"),
    path("check/file.json", check_file.check_file_json, name="check_file_json"),
    path("check/checker.html", checker.checker, name="checker"),
    path("check/<str:number>/", check.check_record, name="check_record"),
    path("check/<str:number>/record.json", check.check_record_json, name="check_record_json"),
    path(
        "check/<str:number>/credential.json",
        credentials.check_credential,
        name="check_credential",
    ),
    path("issuers/<int:pk>/keys/", keys.issuer_keys, name="issuer_keys"),
    path("issuers/<int:pk>/keys/<str:sha256>/give-up/", keys.key_compromise, name="key_compromise"),
    path("issuers/<int:pk>/issue-again/", keys.issue_doubtful, name="issue_doubtful"),
    path("issuers/<int:pk>/root.pem", check.check_root, name="check_root"),
    path("issuers/<int:pk>/crl.der", issuers.issuer_crl, name="issuer_crl"),
    path(
        "issuers/<int:pk>/controller.json",
        credentials.issuer_controller,
        name="issuer_controller",
    ),
    path(
        "issuers/<int:pk>/status/<str:purpose>-<int:number>.json",
        credentials.issuer_status,
        name="issuer_status",
    ),
]
