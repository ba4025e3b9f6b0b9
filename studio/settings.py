"""Settings, read from the environment; every variable has a default that suits one machine.

DEVELOPERS.md lists the variables. What the site keeps (database, photographs, recordings,
collected static files, the secret key) lives below STUDIO_DATA, by default the folder `.data`
beside manage.py.
"""

import os
import secrets
from contextlib import suppress
from pathlib import Path
from typing import Any

import dj_database_url
from csp.constants import NONE, SELF

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = Path(os.environ.get("STUDIO_DATA", BASE_DIR / ".data"))
DATA_DIR.mkdir(mode=0o700, parents=True, exist_ok=True)  # for this account alone


def flag(name: str, default: bool) -> bool:
    return os.environ.get(name, str(default)).strip().lower() in {"1", "true", "yes", "on"}


def by_comma(name: str, default: str) -> list[str]:
    parts = os.environ.get(name, default).split(",")
    return [part.strip() for part in parts if part.strip()]


def kept_secret_key() -> str:
    """The key from the environment, or one made on the first start and kept beside the data."""
    if key := os.environ.get("STUDIO_SECRET_KEY"):
        return key
    kept = DATA_DIR / "secret_key"
    if not kept.exists():
        fresh = DATA_DIR / f"secret_key.{os.getpid()}"
        with open(os.open(fresh, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "w") as file:
            file.write(secrets.token_urlsafe(64))
        with suppress(FileExistsError):  # two processes started at once: one key counts, whole
            os.link(fresh, kept)
        fresh.unlink()
    return kept.read_text().strip()


SECRET_KEY = kept_secret_key()
DEBUG = flag("STUDIO_DEBUG", False)
ALLOWED_HOSTS = by_comma("STUDIO_HOSTS", "127.0.0.1,localhost,[::1]")
CSRF_TRUSTED_ORIGINS = by_comma("STUDIO_ORIGINS", "")

INSTALLED_APPS = [
    "firings",
    "schedules",
    "studio",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.humanize",
    "django.contrib.messages",
    "django.contrib.sessions",
    "django.contrib.staticfiles",
    "django.forms",
    "axes",
    "csp",
    "django_filters",
    "django_htmx",
    "simple_history",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "csp.middleware.CSPMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "simple_history.middleware.HistoryRequestMiddleware",
    "studio.middleware.studio_time_zone",
    "studio.middleware.wrong_method_page",
    "axes.middleware.AxesMiddleware",
    "studio.device_middleware.SharedDeviceMiddleware",
]

FORM_RENDERER = "studio.form_renderer.StudioRenderer"
ROOT_URLCONF = "studio.urls"
WSGI_APPLICATION = "studio.wsgi.application"

TEMPLATES: list[dict[str, Any]] = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "builtins": ["studio.templatetags.studio_format"],
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "studio.context.studio",
                "studio.context.device_who",
                "firings.context.runaways",
            ],
        },
    }
]

DATABASES = {
    "default": dj_database_url.config(
        default=f"sqlite:///{DATA_DIR / 'logbook.sqlite3'}",
        conn_max_age=60,
        conn_health_checks=True,
    )
}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    # A logbook loses nothing at a power cut (synchronous FULL), and eight people saving at once
    # wait for each other instead of failing (WAL, IMMEDIATE, timeout).
    DATABASES["default"]["OPTIONS"] = {
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;",
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
    }

# The newest records are found by their key; a trail is read by what it is of.
SIMPLE_HISTORY_DATE_INDEX = False

DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "studio.Person"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in (
        "UserAttributeSimilarityValidator",
        "MinimumLengthValidator",
        "CommonPasswordValidator",
        "NumericPasswordValidator",
    )
]
LOGIN_URL = "studio:sign_in"
LOGIN_REDIRECT_URL = "firings:today"
LOGOUT_REDIRECT_URL = "studio:sign_in"
PASSWORD_RESET_TIMEOUT = 24 * 3600

# Ten wrong passwords for one name from one address: a quarter of an hour's wait.
AXES_FAILURE_LIMIT = 10
AXES_COOLOFF_TIME = 0.25
AXES_USERNAME_FORM_FIELD = "username"  # as Django's own form and backends call it
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_LOCKOUT_TEMPLATE = "studio/sign_in_locked.html"
AXES_RESET_ON_SUCCESS = True
AXES_VERBOSE = False
AXES_CLIENT_IP_CALLABLE = "studio.requests.visitor_address"
# Behind a proxy say so (STUDIO_PROXIES=1), or every visitor shares the proxy's address.
PROXIES = int(os.environ.get("STUDIO_PROXIES", "0"))

LANGUAGE_CODE = "en-gb"
USE_I18N = True
USE_TZ = True
TIME_ZONE = os.environ.get("STUDIO_TIME_ZONE", "UTC")  # each studio sets its own on the site

STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
STATICFILES_DIRS = [BASE_DIR / "static"]
STATICFILES_FINDERS = [
    "django.contrib.staticfiles.finders.FileSystemFinder",
    "django.contrib.staticfiles.finders.AppDirectoriesFinder",
    "studio.finders.PlotlyFinder",
]
MEDIA_ROOT = DATA_DIR / "photographs"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "recordings": {
        "BACKEND": "django.core.files.storage.FileSystemStorage",
        "OPTIONS": {"location": DATA_DIR / "recordings", "base_url": None},
    },
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
WHITENOISE_KEEP_ONLY_HASHED_FILES = True  # nothing asks for the others; they take as long to press
# Management commands that run as long as the site is served, each in a process of its own.
RUNS_BESIDE = [["messages"]]

PHOTOGRAPH_LIMIT_MB = 25
RECORDING_LIMIT_MB = 60
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024
FILE_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 4000

SESSION_COOKIE_AGE = 30 * 24 * 3600
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"

# STUDIO_HTTPS=1 when the site is reached over https: everything is then bound to it.
HTTPS = flag("STUDIO_HTTPS", False)
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = HTTPS
if HTTPS:
    SECURE_HSTS_SECONDS = int(os.environ.get("STUDIO_HSTS_SECONDS", 365 * 24 * 3600))
    SECURE_HSTS_INCLUDE_SUBDOMAINS = flag("STUDIO_HSTS_SUBDOMAINS", False)
    SECURE_HSTS_PRELOAD = flag("STUDIO_HSTS_PRELOAD", False)
if flag("STUDIO_FORWARDED_PROTO", False):  # only behind a proxy that sets the header itself
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"

# plotly fills <style> elements by script; the two hashes are the empty one and the bundle's own.
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [
            SELF,
            "'sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU='",
            "'sha256-ji27qzEtxXZW+7dun6UwjHXJ18e6WAin1VvNtkzIE/o='",
        ],
        "img-src": [SELF, "data:", "blob:"],
        "connect-src": [SELF],
        "font-src": [SELF],
        "manifest-src": [SELF],
        "worker-src": [SELF],
        "form-action": [SELF],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
    }
}

# Without a mail server, messages are printed on the console and the keeper hands out reset links.
EMAIL_HOST = os.environ.get("STUDIO_SMTP_HOST", "")
EMAIL_PORT = int(os.environ.get("STUDIO_SMTP_PORT", "587"))
EMAIL_HOST_USER = os.environ.get("STUDIO_SMTP_USER", "")
EMAIL_HOST_PASSWORD = os.environ.get("STUDIO_SMTP_PASSWORD", "")
EMAIL_USE_TLS = flag("STUDIO_SMTP_TLS", True)
MAIL_WORKS = bool(EMAIL_HOST)
SITE_ADDRESS = CSRF_TRUSTED_ORIGINS[0] if CSRF_TRUSTED_ORIGINS else ""  # before links in mails
EMAIL_BACKEND = f"django.core.mail.backends.{'smtp' if MAIL_WORKS else 'console'}.EmailBackend"
DEFAULT_FROM_EMAIL = os.environ.get("STUDIO_MAIL_FROM", "logbook@localhost")

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"console": {"class": "logging.StreamHandler"}},
    "root": {"handlers": ["console"], "level": os.environ.get("STUDIO_LOG_LEVEL", "WARNING")},
}

# Sign-in names are unique whatever their capitals: a constraint on the lower-case name.
SILENCED_SYSTEM_CHECKS = ["auth.W004"]
