"""Settings: everything that differs between machines comes from the environment.

DATABASE_URL   database, SQLite in var/ by default
SECRET_KEY     made once into var/secret_key when not given
ALLOWED_HOSTS  comma-separated host names; giving any means the site is served over HTTPS
HTTPS          1 or 0 overrides that guess (secure cookies, HSTS, proxy header)
DEBUG          1 for Django's own error pages
NUMBA_CACHE_DIR where compiled kernels are kept: var/numba by default, or under ~/.cache or the
               directory of temporary files where that can't be written
ENGINE_THREADS threads of one ranking, as many as cores by default; 1 where there is a worker a core
LOG_LEVEL      WARNING by default; INFO logs one line a request
LOG_FORMAT     json for one JSON object a line
"""

import os
import secrets
import tempfile
from pathlib import Path
from typing import Any

import dj_database_url
import django_stubs_ext
from csp.constants import NONE, SELF

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


def place_for_kernels() -> Path:
    """The first place that can be written: a site may run from a checkout it can't write to."""
    cache = Path(os.environ.get("XDG_CACHE_HOME") or Path("~/.cache").expanduser())
    temporary = Path(tempfile.gettempdir()) / f"hookwright-numba-{os.getuid()}"
    places = [VAR_DIR / "numba", cache / "hookwright" / "numba", temporary]
    for place in places:
        try:
            place.mkdir(parents=True, exist_ok=True, mode=0o700)
        except OSError:
            continue
        # Compiled code is run: never out of a directory that somebody else has made.
        if os.access(place, os.W_OK) and place.stat().st_uid in {os.getuid(), 0}:
            return place
    return places[0]


# Set before anything imports numba, which reads it once.
if not os.environ.get("NUMBA_CACHE_DIR"):
    os.environ["NUMBA_CACHE_DIR"] = str(place_for_kernels())
NUMBA_CACHE_DIR = os.environ["NUMBA_CACHE_DIR"]

DEBUG = flag("DEBUG", False)
SECRET_KEY = os.environ.get("SECRET_KEY") or local_secret_key()
_hosts = [host.strip() for host in os.environ.get("ALLOWED_HOSTS", "").split(",") if host.strip()]
ALLOWED_HOSTS = [*_hosts, "localhost", "127.0.0.1", "[::1]"]
HTTPS = flag("HTTPS", bool(_hosts))

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
    "csp",
    "django_tasks",
    "django_tasks_db",
]

MIDDLEWARE = [
    "proshop.requests.counted",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
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
    dj_database_url.config(default=f"sqlite:///{VAR_DIR / 'db.sqlite3'}", conn_max_age=60)
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
]
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
AXES_ENABLE_ADMIN = False
AXES_VERBOSE = False

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
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_SECURE = HTTPS
CSRF_COOKIE_SECURE = HTTPS
CSRF_COOKIE_HTTPONLY = True
CSRF_FAILURE_VIEW = "proshop.views.csrf_failure"
CSRF_TRUSTED_ORIGINS = [f"https://{host.lstrip('.')}" for host in _hosts if host != "*"]
if HTTPS:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SECURE_SSL_REDIRECT = True
    SECURE_HSTS_SECONDS = 60 * 60 * 24 * 30

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
