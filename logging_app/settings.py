"""Every setting, read from the environment. The README's table lists the variables."""

import hashlib
import tomllib
from datetime import timedelta
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured

from logging_app import environment

BASE_DIR = Path(__file__).resolve().parent.parent
VERSION = tomllib.loads((BASE_DIR / "pyproject.toml").read_text())["project"]["version"]

# Rushlight's own -------------------------------------------------------------------------------

HOME = environment.folder("RUSHLIGHT_HOME", BASE_DIR / "rushlight-home")
CARD_ROOTS = environment.folders("RUSHLIGHT_CARDS", HOME / "cards")
MEDIA_HOME = HOME / "media"  # proxies, filmstrips, peaks: all of it can be made again
QUEUE_URL = environment.queue("RUSHLIGHT_QUEUE")
ACCEL_PREFIX = environment.location("RUSHLIGHT_ACCEL")  # the internal nginx location that serves MEDIA_HOME
SCAN_EVERY = environment.seconds("RUSHLIGHT_SCAN_EVERY", 15)
SETTLE = environment.seconds("RUSHLIGHT_SETTLE", 30)  # a folder that changed since is still being copied
CHECK_RATE = environment.megabytes_a_second("RUSHLIGHT_CHECK_RATE", 0)  # of one check; 0: as fast as it can

# The embedded form is one machine: it alone may assume that no other worker is alive.
EMBEDDED = not QUEUE_URL
METRICS_TOKEN = environment.secret_text("RUSHLIGHT_METRICS_TOKEN")  # '': this machine alone may read them

# Django ----------------------------------------------------------------------------------------

SECRET_KEY = environment.secret("RUSHLIGHT_SECRET_KEY", HOME / "secret-key")
DEBUG = environment.flag("RUSHLIGHT_DEBUG")
ALLOWED_HOSTS = environment.hosts("RUSHLIGHT_HOSTS", "*" if EMBEDDED else "localhost")
BEHIND_TLS = environment.flag("RUSHLIGHT_TLS")
BEHIND_NGINX = bool(ACCEL_PREFIX) or BEHIND_TLS  # which says where a request came from
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in ALLOWED_HOSTS if BEHIND_TLS and host != "*"]
if BEHIND_TLS:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = True
    SECURE_HSTS_SECONDS = 31_536_000
    SECURE_REDIRECT_EXEMPT = [r"^(healthz|readyz|metrics)$"]  # asked from inside, in plain HTTP
# Whether its subdomains are all HTTPS, and whether browsers are to know it beforehand, is for who owns the host name.
SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021"]

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "rest_framework",
    "drf_spectacular",
    "axes",
    "review",
]

MIDDLEWARE = [
    "review.work.logs.RequestLines",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "review.pages.headers.ContentSecurityPolicy",
    "axes.middleware.AxesMiddleware",
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
if not EMBEDDED and DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    raise ImproperlyConfigured(
        "RUSHLIGHT_QUEUE is set, so several machines write: set RUSHLIGHT_DATABASE to a PostgreSQL they share"
    )
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
AUTH_USER_MODEL = "review.Person"
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
# Ten wrong passwords for a name from one address close it there for a while (review/crew/signing_in.py).
AXES_FAILURE_LIMIT = 10
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_LOCKOUT_CALLABLE = "review.crew.signing_in.closed"
AXES_CLIENT_IP_CALLABLE = "review.crew.signing_in.address_of"
AXES_RESET_ON_SUCCESS = True
AXES_DISABLE_ACCESS_LOG = True
AXES_VERBOSE = False
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
TIME_ZONE = environment.time_zone("TZ", "UTC")

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
        "review.api.authentication.TokenAuthentication",
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
CELERY_BROKER_CONNECTION_MAX_RETRIES = None  # a queue that is away for an hour is still waited for
# A job goes on when the queue goes away: the row is the truth, and a message that comes again does no harm.
CELERY_WORKER_CANCEL_LONG_RUNNING_TASKS_ON_CONNECTION_LOSS = False
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
    CELERY_BROKER_TRANSPORT_OPTIONS = {
        "visibility_timeout": 6 * 3600,
        "socket_connect_timeout": 3,  # seconds; a page does not wait longer for a queue that is away
        "socket_keepalive": True,
    }
# Each kind of job has a queue. These are the workers, and the queues that each takes turns at: what somebody is
# looking at (pictures) never waits behind a check or an encode, and those do not wait for each other.
JOB_QUEUES = {
    "checks": ["check", "copy"],
    "quick": ["pictures"],
    "encodes": ["stringout", "proxy", "section"],
}
UPKEEP_QUEUE = "upkeep"  # scans and sweeps, for a worker of their own
CELERY_TASK_DEFAULT_QUEUE = UPKEEP_QUEUE
CELERY_BEAT_SCHEDULE = {
    "scan": {"task": "review.tasks.scan", "schedule": SCAN_EVERY, "options": {"expires": SCAN_EVERY}},
    "sweep": {"task": "review.tasks.sweep", "schedule": 15, "options": {"expires": 15}},
}

# Log lines: one an event, with the ids of its request and job (review/work/logs.py) ---------------------

_LEVELS = ("DEBUG", "INFO", "WARNING", "ERROR")
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"()": "review.work.logs.OneLine"}},
    "filters": {"faults": {"()": "review.work.logs.OnlyFaults"}},
    "handlers": {
        "stderr": {
            "class": "logging.StreamHandler",
            "formatter": "line",
            "level": environment.one_of("RUSHLIGHT_LOG_LEVEL", _LEVELS, "WARNING"),
        },
        "of the job": {"class": "review.work.logs.KeptWithTheJob", "formatter": "line"},
    },
    "root": {"handlers": ["stderr", "of the job"], "level": "WARNING"},
    # Our own, and what the workers' programs say of themselves, reach the handlers at INFO whatever is shown.
    "loggers": {
        "review": {"level": "INFO"},
        "celery": {"level": "INFO"},
        "django.request": {"filters": ["faults"]},
        # A line for each message that is sent, comes and is done with: the job's own lines tell it already.
        "celery.beat": {"level": "WARNING"},
        "celery.worker.strategy": {"level": "WARNING"},
        "celery.app.trace": {"level": "WARNING"},
    },
}
if environment.text("RUSHLIGHT_LOG_LEVEL") == "DEBUG":
    LOGGING["root"]["level"] = LOGGING["loggers"]["review"]["level"] = "DEBUG"

environment.refuse_unknown()
