"""The site's own settings, with what makes tests quick and alone: no hashing cost, no files kept."""

import os
import tempfile

os.environ.setdefault("STUDIO_SECRET_KEY", "for-tests-only-" + "x" * 50)
os.environ.setdefault("STUDIO_DATA", tempfile.mkdtemp(prefix="logbook-tests-"))

from studio.settings import *  # noqa: E402, F403
from studio.settings import DATABASES, STORAGES  # noqa: E402

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
STORAGES = STORAGES | {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    # The browser tests' server runs in a thread of its own: a shared in-memory database serves both.
    DATABASES["default"]["OPTIONS"].pop("init_command")
WHITENOISE_AUTOREFRESH = True
ALLOWED_HOSTS = ["*"]
