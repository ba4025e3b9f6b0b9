"""Readies the database and the static files, and serves the site from this one process tree."""

import hashlib
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command
from django.core.wsgi import get_wsgi_application

from studio import receipts
from studio.actions.list_import import lists_forget

DEFAULT_ADDRESS = "127.0.0.1:8000"
GATHERED = "gathered.sha256"  # beside the static files: from what they were gathered


def add_arguments(parser: Any) -> None:
    parser.add_argument("--address", default=DEFAULT_ADDRESS, help="host:port to listen on")
    parser.add_argument("--workers", type=int, default=2, help="how many processes answer")
    parser.add_argument(
        "--no-serve", action="store_true", help="make everything ready, then stop without serving"
    )


def prepare() -> None:
    """Bring the database up to date and gather the static files; both can be repeated.

    Gathering presses every file together, which takes a while: it is done when one has changed.
    """
    call_command("migrate", verbosity=0, interactive=False)
    call_command("clearsessions", verbosity=0)
    receipts.forget_old()
    lists_forget()
    gathered, sources = Path(settings.STATIC_ROOT) / GATHERED, _static_sources()
    if not gathered.exists() or gathered.read_text() != sources:
        call_command("collectstatic", verbosity=0, interactive=False)
        gathered.parent.mkdir(parents=True, exist_ok=True)
        gathered.write_text(sources)


def _static_sources() -> str:
    """A hash of the path, size and time of each static file as it lies in the project."""
    files = sorted(storage.path(name) for each in get_finders() for name, storage in each.list([]))
    told = hashlib.sha256()
    for path in files:
        state = Path(path).stat()
        told.update(f"{path} {state.st_size} {state.st_mtime_ns}\n".encode())
    return told.hexdigest()


def serve(address: str, workers: int) -> None:
    """Answer on `address` until it is interrupted."""
    if sys.platform == "win32":  # gunicorn needs fork
        call_command("runserver", address, "--noreload")
        return
    from gunicorn.app.base import BaseApplication

    class Site(BaseApplication):
        def load_config(self) -> None:
            self.cfg.set("bind", address)
            self.cfg.set("workers", workers)
            self.cfg.set("worker_class", "gthread")
            self.cfg.set("threads", 4)
            self.cfg.set("timeout", 60)
            # Its control socket has one place for an account: two studios would meet there.
            self.cfg.set("control_socket_disable", True)
            self.cfg.set("proc_name", "studio firing logbook")

        def load(self) -> Any:
            return get_wsgi_application()

        def run(self) -> None:
            with beside():
                super().run()

    Site().run()


@contextmanager
def beside() -> Iterator[None]:
    """The commands of `RUNS_BESIDE`, each in a process of its own, as long as the site is served.

    One that ends by itself is not started again: pages work without it, and its words stand on the
    console.
    """
    started = [
        subprocess.Popen([sys.executable, sys.argv[0], *command])  # noqa: S603 — our own commands
        for command in settings.RUNS_BESIDE
    ]
    try:
        yield
    finally:
        for process in started:
            process.terminate()
        for process in started:
            process.wait(timeout=10)
