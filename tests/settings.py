"""The site's own settings, and what makes tests quick: cheap hashing, no files kept."""

import os
import tempfile

os.environ.setdefault("STUDIO_SECRET_KEY", "for-tests-only-" + "x" * 50)
os.environ.setdefault("STUDIO_DATA", tempfile.mkdtemp(prefix="logbook-tests-"))

from studio.settings import *  # noqa: F403
from studio.settings import DATA_DIR, DATABASES, STORAGES

# Workers share what their parent put into the environment, but no files beside the data.
DATA_DIR = DATA_DIR / os.environ.get("PYTEST_XDIST_WORKER", "alone")

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
STORAGES = STORAGES | {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "recordings": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    # A file, not memory: the browser tests' server answers from several threads at once.
    DATABASES["default"]["OPTIONS"]["init_command"] = (
        "PRAGMA journal_mode=WAL; PRAGMA synchronous=OFF;"
    )
    DATABASES["default"]["TEST"] = {"NAME": str(DATA_DIR / "tests.sqlite3")}
    DATA_DIR.mkdir(parents=True, exist_ok=True)
WHITENOISE_AUTOREFRESH = True
ALLOWED_HOSTS = ["*"]
