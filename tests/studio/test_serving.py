"""What a start makes ready, and what it leaves alone the second time."""

import os
import time
from pathlib import Path
from typing import Any

import pytest

from studio import serving

pytestmark = pytest.mark.django_db


@pytest.fixture
def source(tmp_path: Path, settings: Any) -> Path:
    """A static file, the only one of the project."""
    source = tmp_path / "source" / "page.css"
    source.parent.mkdir()
    source.write_text("main { color: teal }")
    settings.STATICFILES_DIRS = [source.parent]
    settings.STATICFILES_FINDERS = ["django.contrib.staticfiles.finders.FileSystemFinder"]
    settings.STATIC_ROOT = tmp_path / "static"
    return source


def test_static_files_are_gathered_once_and_again_when_one_has_changed(
    source: Path, tmp_path: Path
) -> None:
    gathered = tmp_path / "static" / "page.css"
    serving.prepare()
    assert "teal" in gathered.read_text()

    gathered.write_text("untouched")
    serving.prepare()
    assert gathered.read_text() == "untouched"

    source.write_text("main { color: firebrick }")
    os.utime(source, (time.time() + 60, time.time() + 60))  # a change within the second is none
    serving.prepare()
    assert "firebrick" in gathered.read_text()


def test_what_runs_beside_ends_with_the_site(
    tmp_path: Path, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    manage, seen = tmp_path / "manage.py", tmp_path / "seen"
    manage.write_text(
        "import pathlib, sys, time\n"
        f"pathlib.Path({str(seen)!r}).write_text(' '.join(sys.argv[1:]))\n"
        "time.sleep(60)\n"
    )
    monkeypatch.setattr("sys.argv", [str(manage)])
    settings.RUNS_BESIDE = [["messages", "--every", "5"]]
    began = time.monotonic()
    with serving.beside():
        while not (seen.exists() and seen.read_text()):
            assert time.monotonic() - began < 20
            time.sleep(0.02)
    assert seen.read_text() == "messages --every 5"
    assert time.monotonic() - began < 30, "it was ended, and not waited for"
