"""Every setting, read from the environment. The README's table lists the variables."""

import hashlib
from pathlib import Path

from logging_app import environment

BASE_DIR = Path(__file__).resolve().parent.parent

# Rushlight's own -------------------------------------------------------------------------------

HOME = environment.folder("RUSHLIGHT_HOME", BASE_DIR / "rushlight-home")
CARD_ROOTS = environment.folders("RUSHLIGHT_CARDS", HOME / "cards")
MEDIA_HOME = HOME / "media"  # proxies, filmstrips, peaks: all of it can be made again
QUEUE_URL = environment.text("RUSHLIGHT_QUEUE")
ACCEL_PREFIX = environment.text("RUSHLIGHT_ACCEL")  # the internal nginx location that serves MEDIA_HOME
SCAN_EVERY = environment.seconds("RUSHLIGHT_SCAN_EVERY", 15)
SETTLE = environment.seconds("RUSHLIGHT_SETTLE", 30)  # a folder that changed since is still being copied
CHECK_RATE = environment.megabytes_a_second("RUSHLIGHT_CHECK_RATE", 0)  # of one check; 0: as fast as it can

# The embedded form is one machine: it alone may assume that no other worker is alive.
EMBEDDED = not QUEUE_URL

# Django ----------------------------------------------------------------------------------------

SECRET_KEY = environment.secret("RUSHLIGHT_SECRET_KEY", HOME / "secret-key")
DEBUG = environment.flag("RUSHLIGHT_DEBUG")
ALLOWED_HOSTS = environment.text("RUSHLIGHT_HOSTS", "*" if EMBEDDED else "localhost").split(",")
BEHIND_TLS = environment.flag("RUSHLIGHT_TLS")
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in ALLOWED_HOSTS if BEHIND_TLS and host != "*"]
if BEHIND_TLS:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = True
    SECURE_HSTS_SECONDS = 31_536_000

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "rest_framework",
    "rest_framework.authtoken",
    "drf_spectacular",
    "review",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "review.pages.headers.ContentSecurityPolicy",
]

ROOT_URLCONF = "logging_app.urls"
WSGI_APPLICATION = "logging_app.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "review.pages.context.house",
            ],
            "builtins": ["review.pages.words"],
        },
    }
]

DATABASES = {"default": environment.database("RUSHLIGHT_DATABASE", HOME / "rushlight.sqlite3")}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
AUTH_USER_MODEL = "review.Person"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 8}},
]
CSRF_FAILURE_VIEW = "review.pages.errors.csrf_failure"
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "sign-in"

LANGUAGE_CODE = "en-gb"
USE_I18N = False
USE_TZ = True
TIME_ZONE = environment.text("TZ", "UTC")

# Static files carry a digest of them all in their address, so browsers keep them for ever and modules
# can import each other by plain relative names: nothing is rewritten.
_STATIC = BASE_DIR / "review" / "static"
_STATIC_DIGEST = hashlib.sha256(
    b"".join(path.read_bytes() for path in sorted(_STATIC.rglob("*")) if path.is_file())
).hexdigest()[:12]
STATIC_URL = f"/static/{_STATIC_DIGEST}/"
STATIC_ROOT = HOME / "static"
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = DEBUG


def WHITENOISE_IMMUTABLE_FILE_TEST(path, url):
    return url.startswith(STATIC_URL)


# The JSON surface ------------------------------------------------------------------------------

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "rest_framework.authentication.TokenAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["review.api.parsing.Json"],
    "DEFAULT_PAGINATION_CLASS": "review.api.paging.Pages",
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "EXCEPTION_HANDLER": "review.api.errors.as_json",
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Rushlight",
    "DESCRIPTION": "A logging room for rushes: cards, clips, selects, lists and coverage.",
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SCHEMA_PATH_PREFIX": "/api/v1",
}

# The queue -------------------------------------------------------------------------------------

CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_TIMEZONE = TIME_ZONE
if EMBEDDED:
    _QUEUE = HOME / "queue"
    CELERY_BROKER_URL = "filesystem://localhost//"
    CELERY_BROKER_TRANSPORT_OPTIONS = {
        "data_folder_in": str(_QUEUE / "messages"),
        "data_folder_out": str(_QUEUE / "messages"),
        "control_folder": str(_QUEUE / "control"),
        "processed_folder": str(_QUEUE / "processed"),
        "store_processed": False,
        "polling_interval": 0.1,  # the default passes one task a second
    }
    CELERY_WORKER_ENABLE_REMOTE_CONTROL = False
else:
    CELERY_BROKER_URL = QUEUE_URL
    # Longer than any one job: an unacknowledged message is delivered again after it.
    CELERY_BROKER_TRANSPORT_OPTIONS = {"visibility_timeout": 6 * 3600}
JOB_QUEUES = ["check", "copy", "pictures", "proxy", "section"]  # one a kind of job; workers take turns at them
UPKEEP_QUEUE = "upkeep"  # scans and sweeps, for a worker of their own
CELERY_TASK_DEFAULT_QUEUE = UPKEEP_QUEUE
CELERY_BEAT_SCHEDULE = {
    "scan": {"task": "review.tasks.scan", "schedule": SCAN_EVERY, "options": {"expires": SCAN_EVERY}},
    "sweep": {"task": "review.tasks.sweep", "schedule": 15, "options": {"expires": 15}},
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "%(asctime)s %(levelname)s %(name)s %(message)s"}},
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["stderr"], "level": environment.text("RUSHLIGHT_LOG_LEVEL", "WARNING")},
}
