"""Django settings, all from the environment (see config/environment.py for the variables)."""

import os
from datetime import timedelta
from pathlib import Path

from csp.constants import NONE, SELF

from config.database import database_settings
from config.environment import read_environment

BASE_DIR = Path(__file__).resolve().parent.parent
ENVIRONMENT = read_environment(os.environ, BASE_DIR)

DEBUG = ENVIRONMENT.debug
SECRET_KEY = ENVIRONMENT.secret_key
ALLOWED_HOSTS = list(ENVIRONMENT.hosts)
BASE_URL = ENVIRONMENT.base_url
SECURE = BASE_URL.startswith("https://")
if SECURE:
    CSRF_TRUSTED_ORIGINS = [BASE_URL]

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django.contrib.postgres",
    "crispy_forms",
    "crispy_bootstrap5",
    "csp",
    "axes",
    "django_tasks",
    "django_tasks_db",
    "training",
    "assessments",
    "certificates",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    # The language of the cookie or the browser, for whoever has not chosen one.
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "training.middleware.ReaderMiddleware",
    # Every page asks for a sign-in unless its view says that it is public.
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "csp.middleware.CSPMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            # Every page has texts to translate.
            "builtins": ["django.templatetags.i18n"],
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "training.context_processors.navigation",
            ],
        },
    },
]
CRISPY_ALLOWED_TEMPLATE_PACKS = "bootstrap5"
CRISPY_TEMPLATE_PACK = "bootstrap5"

DATABASES = {"default": database_settings(os.environ, BASE_DIR)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "training.Person"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
LOGIN_URL = "sign_in"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "home"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 12},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]

# Guessing passwords: counted in the database, for one person from one address, so that nobody
# can shut out somebody else, and never for good.
AXES_FAILURE_LIMIT = 6
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_RESET_ON_SUCCESS = True
AXES_RESET_COOL_OFF_ON_FAILURE_DURING_LOCKOUT = False
AXES_LOCKOUT_CALLABLE = "training.views.sign.locked_out"
AXES_USERNAME_FORM_FIELD = "username"
AXES_DISABLE_ACCESS_LOG = True
AXES_ENABLE_ADMIN = False

LANGUAGE_CODE = "en"
LANGUAGES = [("en", "English"), ("es", "Español"), ("es-mx", "Español (México)")]
LOCALE_PATHS = [BASE_DIR / "training" / "locale"]
FORMAT_MODULE_PATH = "config.formats"
USE_I18N = True
USE_TZ = True
TIME_ZONE = ENVIRONMENT.time_zone

STATIC_URL = "static/"
STATIC_ROOT = ENVIRONMENT.data / "static"
STATICFILES_DIRS = [BASE_DIR / "static"]
# These are compressed already, or only go into PDFs: squeezing them takes half a minute.
WHITENOISE_SKIP_COMPRESS_EXTENSIONS = ["jpg", "png", "woff", "woff2", "ttf", "otf", "gz", "zip"]
MEDIA_ROOT = ENVIRONMENT.data / "files"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "config.static.ModuleStorage"},
}

SESSION_COOKIE_SECURE = SECURE
LANGUAGE_COOKIE_SECURE = SECURE
LANGUAGE_COOKIE_HTTPONLY = True
LANGUAGE_COOKIE_SAMESITE = "Lax"
LANGUAGE_COOKIE_AGE = 365 * 24 * 60 * 60
CSRF_COOKIE_SECURE = SECURE
CSRF_FAILURE_VIEW = "assessments.views.site.api.csrf_failure"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_AGE = 14 * 60 * 60  # a working day on site, not two weeks
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
DATA_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "base-uri": [NONE],
        "connect-src": [SELF],
        "font-src": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
        # blob: for photographs that have not left the device yet.
        "img-src": [SELF, "blob:", "data:"],
        "manifest-src": [SELF],
        "script-src": [SELF],
        "style-src": [SELF],
        "worker-src": [SELF],
    },
}

DEFAULT_FROM_EMAIL = ENVIRONMENT.mail_from
if ENVIRONMENT.mail_server is None:
    EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
    EMAIL_FILE_PATH = ENVIRONMENT.data / "mail"
else:
    EMAIL_HOST = ENVIRONMENT.mail_server.host
    EMAIL_PORT = ENVIRONMENT.mail_server.port
    EMAIL_HOST_USER = ENVIRONMENT.mail_server.user
    EMAIL_HOST_PASSWORD = ENVIRONMENT.mail_server.password
    EMAIL_USE_SSL = ENVIRONMENT.mail_server.tls
    EMAIL_USE_TLS = not ENVIRONMENT.mail_server.tls
    EMAIL_TIMEOUT = 20

KEY_FOLDER = ENVIRONMENT.data / "keys"
KEY_PASSPHRASE = ENVIRONMENT.key_passphrase
KEY_TOKEN = ENVIRONMENT.key_token
STAMP_ROOTS = ENVIRONMENT.stamp_roots
STAMP_URL = ENVIRONMENT.stamp_url
RECORD_PAPER = ENVIRONMENT.paper

# Done by `manage.py worker`; the queue is in the database.
TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "%(asctime)s %(levelname)s %(name)s: %(message)s"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
}
