"""Settings: everything that differs between machines comes from the environment.

DATABASE_URL   database, SQLite in var/ by default
POOLED         1 where a pooler that lends connections for a transaction stands before PostgreSQL
SECRET_KEY     made once into var/secret_key when not given; over HTTPS it has to be given
ALLOWED_HOSTS  comma-separated host names; giving any means the site is served over HTTPS
HTTPS          1 or 0 overrides that guess (secure cookies, HSTS, proxy header)
PROXIES        how many proxies stand in front, 1 by default over HTTPS: each adds to
               X-Forwarded-For whom it was asked by, which is who is locked out
HSTS_SUBDOMAINS, HSTS_PRELOAD
               1 or 0: whether names below the site's are HTTPS only as well (1 by default), and
               whether browsers may be shipped knowing it (0: that can't be taken back for months)
EMAIL_HOST, EMAIL_PORT, EMAIL_HOST_USER, EMAIL_HOST_PASSWORD, EMAIL_USE_SSL, DEFAULT_FROM_EMAIL
               the server that takes mail, with STARTTLS unless EMAIL_USE_SSL; without EMAIL_HOST
               mail is printed where the site runs
SESSION_IDLE_MINUTES, SESSION_HOURS
               120 and 12: after so long without a request, and so long after signing in,
               somebody is signed out; closing the browser does it too
SECOND_FACTOR  owners or everyone: they have to use one; left out, whoever wants to
DEBUG          1 for Django's own error pages
NUMBA_CACHE_DIR where compiled kernels are kept, in a folder for each state of the engine's
               sources: var/numba by default, or under ~/.cache or the directory of temporary files
               where that can't be written
ENGINE_THREADS threads of one ranking, as many as cores by default; 1 where there is a worker a core
LOG_LEVEL      WARNING by default; INFO logs one line a request
LOG_FORMAT     json for one JSON object a line
"""

import os
import secrets
from pathlib import Path
from typing import Any

import dj_database_url
import django_stubs_ext
from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

from physics import compiled
from proshop import keys

django_stubs_ext.monkeypatch()

BASE_DIR = Path(__file__).resolve().parent.parent
VAR_DIR = BASE_DIR / "var"


def flag(name: str, default: bool) -> bool:
    """Read an on/off variable of the environment."""
    value = os.environ.get(name, "").strip().lower()
    return default if value == "" else value not in {"0", "false", "no", "off"}


def local_secret_key() -> str:
    """The key of this checkout, made on first use and readable by its owner only."""
    path = VAR_DIR / "secret_key"
    VAR_DIR.mkdir(exist_ok=True)
    try:
        descriptor = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
    except FileExistsError:
        return path.read_text()
    key = secrets.token_urlsafe(50)
    with os.fdopen(descriptor, "w") as handle:
        handle.write(key)
    return key


def secret_key(https: bool) -> str:
    """The key that was given, refused if it protects nothing; else the one of this checkout."""
    key = os.environ.get("SECRET_KEY", "")
    remedy = f"Make one with:\n  {keys.MAKE_ONE}"
    if not key:
        if https:
            raise ImproperlyConfigured(
                f"SECRET_KEY is missing: a site served over HTTPS is given its own. {remedy}"
            )
        return local_secret_key()
    if wrong := keys.weakness(key):
        raise ImproperlyConfigured(f"SECRET_KEY {wrong}. {remedy}")
    return key


# The folder that the engine has settled at its import.
NUMBA_CACHE_DIR = str(compiled.folder())

DEBUG = flag("DEBUG", False)
_hosts = [host.strip() for host in os.environ.get("ALLOWED_HOSTS", "").split(",") if host.strip()]
ALLOWED_HOSTS = [*_hosts, "localhost", "127.0.0.1", "[::1]"]
HTTPS = flag("HTTPS", bool(_hosts))
SECRET_KEY = secret_key(HTTPS)
if HTTPS and (_wrong := keys.password_weakness(os.environ.get("DATABASE_URL", ""))):
    raise ImproperlyConfigured(
        f"The password in DATABASE_URL {_wrong}. Give the database's account a password made by "
        f"chance, with:\n  {keys.MAKE_ONE}"
    )
PROXIES = int(os.environ.get("PROXIES") or HTTPS)

INSTALLED_APPS = [
    "proshop",
    "bowlers",
    "arsenal",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.contrib.humanize",
    "crispy_forms",
    "crispy_bootstrap5",
    "django_htmx",
    "simple_history",
    "axes",
    "django_otp",
    "django_otp.plugins.otp_totp",
    "django_otp.plugins.otp_static",
    "csp",
    "django_tasks",
    "django_tasks_db",
]

MIDDLEWARE = [
    "proshop.requests.counted",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "proshop.requests.bounded",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "proshop.metric.chosen_by_cookie",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django_otp.middleware.OTPMiddleware",
    "proshop.accounts.sessions.ending",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "simple_history.middleware.HistoryRequestMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "proshop.urls"
WSGI_APPLICATION = "proshop.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "proshop.context.house",
            ],
        },
    },
]

_database: dict[str, Any] = dict(
    dj_database_url.parse(
        os.environ.get("DATABASE_URL") or f"sqlite:///{VAR_DIR / 'db.sqlite3'}",
        conn_max_age=60,
        # A connection kept from before is tried first: a server that was away is found again.
        conn_health_checks=True,
        # A cursor of the server's outlives a transaction, and with it the connection it is on:
        # Django's notes on PostgreSQL, "Transaction pooling and server-side cursors".
        disable_server_side_cursors=flag("POOLED", False),
    )
)
if _database["ENGINE"] == "django.db.backends.sqlite3":
    VAR_DIR.mkdir(exist_ok=True)
    # Writers queue for the lock from their first statement instead of failing midway, and
    # readers never wait for them (write-ahead log).
    _database["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": (
            "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL; PRAGMA foreign_keys=ON;"
        ),
    }
    _database["CONN_MAX_AGE"] = 0
DATABASES = {"default": _database}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 10},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
# How long a link to choose a password works.
PASSWORD_RESET_TIMEOUT = 24 * 3600
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "sign-in"

# Five wrong passwords for one name from one address close the door for a quarter of an hour.
AXES_FAILURE_LIMIT = 5
AXES_COOLOFF_TIME = 0.25
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_RESET_ON_SUCCESS = True
AXES_LOCKOUT_TEMPLATE = "proshop/lockout.html"
AXES_HTTP_RESPONSE_CODE = 429
AXES_CLIENT_IP_CALLABLE = "proshop.requests.client_address"
AXES_ENABLE_ADMIN = False
AXES_VERBOSE = False

# What applications that show the codes call the account.
OTP_TOTP_ISSUER = "Hookwright"
SECOND_FACTOR = os.environ.get("SECOND_FACTOR", "")
if SECOND_FACTOR not in {"", "owners", "everyone"}:
    raise ImproperlyConfigured("SECOND_FACTOR is owners, everyone, or left out.")

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        # data: for the small pictures inside bootstrap's own stylesheet.
        "img-src": [SELF, "data:"],
        "font-src": [SELF],
        "connect-src": [SELF],
        "manifest-src": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
        "base-uri": [NONE],
    }
}
X_FRAME_OPTIONS = "DENY"
SECURE_REFERRER_POLICY = "same-origin"
# See proshop/accounts/sessions.py.
SESSION_EXPIRE_AT_BROWSER_CLOSE = True
SESSION_COOKIE_AGE = 60 * int(os.environ.get("SESSION_IDLE_MINUTES") or 120)
SESSION_LONGEST_S = 3600 * int(os.environ.get("SESSION_HOURS") or 12)
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_SECURE = HTTPS
CSRF_COOKIE_SECURE = HTTPS
CSRF_COOKIE_HTTPONLY = True
CSRF_COOKIE_SAMESITE = "Lax"
CSRF_FAILURE_VIEW = "proshop.views.csrf_failure"
CSRF_TRUSTED_ORIGINS = [f"https://{host.lstrip('.')}" for host in _hosts if host != "*"]
if HTTPS:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SECURE_SSL_REDIRECT = True
    # Whoever watches the site asks it directly, without the proxy.
    SECURE_REDIRECT_EXEMPT = [r"^health/$"]
    SECURE_HSTS_SECONDS = 60 * 60 * 24 * 365
    SECURE_HSTS_INCLUDE_SUBDOMAINS = flag("HSTS_SUBDOMAINS", True)
    SECURE_HSTS_PRELOAD = flag("HSTS_PRELOAD", False)
    # Decided above, where it can be decided otherwise: nothing to be reminded of.
    SILENCED_SYSTEM_CHECKS = [
        *([] if SECURE_HSTS_INCLUDE_SUBDOMAINS else ["security.W005"]),
        *([] if SECURE_HSTS_PRELOAD else ["security.W021"]),
    ]

# What may be sent: a form's own fields, how many of them, and all of a request with its files
# (proshop/files/reading.py holds a file to less).
DATA_UPLOAD_MAX_MEMORY_SIZE = 2_500_000
DATA_UPLOAD_MAX_NUMBER_FIELDS = 2_000
DATA_UPLOAD_MAX_NUMBER_FILES = 5
MOST_BYTES_A_REQUEST = 8_000_000

EMAIL_HOST = os.environ.get("EMAIL_HOST", "")
EMAIL_BACKEND = f"django.core.mail.backends.{'smtp' if EMAIL_HOST else 'console'}.EmailBackend"
EMAIL_USE_SSL = flag("EMAIL_USE_SSL", False)
EMAIL_USE_TLS = flag("EMAIL_USE_TLS", not EMAIL_USE_SSL)
EMAIL_PORT = int(os.environ.get("EMAIL_PORT") or (465 if EMAIL_USE_SSL else 587))
EMAIL_HOST_USER = os.environ.get("EMAIL_HOST_USER", "")
EMAIL_HOST_PASSWORD = os.environ.get("EMAIL_HOST_PASSWORD", "")
EMAIL_TIMEOUT = 10
DEFAULT_FROM_EMAIL = os.environ.get("DEFAULT_FROM_EMAIL") or (
    f"hookwright@{_hosts[0].lstrip('.')}" if _hosts else "hookwright@localhost"
)

LANGUAGE_CODE = "en-us"
LANGUAGES = [("en-us", "English (US)"), ("en-gb", "English (UK)")]
TIME_ZONE = os.environ.get("TIME_ZONE", "America/New_York")
USE_I18N = True
USE_TZ = True

STATIC_URL = "/static/"
STATIC_ROOT = VAR_DIR / "static"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": (
            "django.contrib.staticfiles.storage.StaticFilesStorage"
            if DEBUG
            else "whitenoise.storage.CompressedManifestStaticFilesStorage"
        )
    },
}

CRISPY_ALLOWED_TEMPLATE_PACKS = "bootstrap5"
CRISPY_TEMPLATE_PACK = "bootstrap5"

TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend", "QUEUES": ["default"]}}
# A job running for longer than this, or a ranking not heard of for so long, has lost its worker.
JOB_LOST_AFTER_SECONDS = 180
JOB_MAX_ATTEMPTS = 3

# For people by default; LOG_FORMAT=json gives one JSON object a line, for machines to gather.
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {
        "number": {"()": "proshop.requests.WithNumber"},
        "keys": {"()": "proshop.requests.WithoutKeys"},
    },
    "formatters": {
        "line": {"format": "{asctime} {levelname} {name} {request}: {message}", "style": "{"},
        "json": {
            "()": "pythonjsonlogger.json.JsonFormatter",
            "format": "{asctime}{levelname}{name}{message}{request}",
            "style": "{",
            "rename_fields": {"asctime": "at", "levelname": "level", "name": "from"},
        },
    },
    "handlers": {
        "console": {
            "class": "logging.StreamHandler",
            "formatter": "json" if os.environ.get("LOG_FORMAT") == "json" else "line",
            "filters": ["number"],
        }
    },
    "loggers": {
        "django.request": {"filters": ["keys"]},
        "django.security": {"filters": ["keys"]},
        "django.security.csrf": {"filters": ["keys"]},
    },
    "root": {"handlers": ["console"], "level": os.environ.get("LOG_LEVEL", "WARNING")},
}
