"""How far a list has come that is being brought in, and whether somebody stops it.

It stands in small files beside the data and not in the database: what runs has a transaction open
until its end, so that nobody would see its rows, and on SQLite nobody else can write any.
"""

import json
import os
import time
from contextlib import suppress
from dataclasses import asdict, dataclass
from pathlib import Path

from django.conf import settings

SILENT_S = 60.0
"""After so long without a word the process that ran it is gone, and with it the transaction."""


@dataclass(frozen=True)
class Progress:
    """`rows` of `of` are done; heard at a moment, in seconds of the system's clock."""

    rows: int
    of: int
    heard_at: float

    @property
    def is_silent(self) -> bool:
        return time.time() - self.heard_at > SILENT_S


def progress_tell(pk: int, rows: int, of: int) -> None:
    """In one step, so that who reads has the one before or this one."""
    told = _path(pk)
    told.parent.mkdir(parents=True, exist_ok=True)
    fresh = told.with_suffix(f".{os.getpid()}")
    fresh.write_text(json.dumps(asdict(Progress(rows, of, time.time()))))
    fresh.replace(told)


def progress_of(pk: int) -> Progress | None:
    try:
        return Progress(**json.loads(_path(pk).read_text()))
    except (FileNotFoundError, json.JSONDecodeError, TypeError):
        return None


def stop_ask(pk: int) -> None:
    _path(pk).parent.mkdir(parents=True, exist_ok=True)
    _stop(pk).touch()


def stop_is_asked(pk: int) -> bool:
    return _stop(pk).exists()


def progress_forget(pk: int) -> None:
    for path in (_path(pk), _stop(pk)):
        with suppress(FileNotFoundError):
            path.unlink()


def _path(pk: int) -> Path:
    return Path(settings.DATA_DIR) / "lists" / f"{pk}.json"


def _stop(pk: int) -> Path:
    return _path(pk).with_suffix(".stop")
