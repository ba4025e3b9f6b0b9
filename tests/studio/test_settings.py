"""The settings of a fresh folder, as a process of its own reads them."""

import json
import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

TOLD = """
import json, studio.settings as s
print(json.dumps([s.SECRET_KEY, s.ALLOWED_HOSTS, s.CSRF_TRUSTED_ORIGINS]))
"""


def settings_of(data: Path, **environment: str) -> list[Any]:
    inherited = {k: v for k, v in os.environ.items() if not k.startswith(("STUDIO_", "DATABASE_"))}
    ran = subprocess.run(  # noqa: S603  our own interpreter
        [sys.executable, "-c", TOLD],
        env=inherited | {"STUDIO_DATA": str(data)} | environment,
        cwd=Path(__file__).parents[2],
        capture_output=True,
        check=True,
        text=True,
    )
    told: list[Any] = json.loads(ran.stdout)
    return told


def test_fresh_folder_and_its_key_are_for_one_account_alone(tmp_path: Path) -> None:
    data = tmp_path / "new" / "data"

    key = settings_of(data)[0]

    assert len(key) > 60
    assert data.stat().st_mode & 0o777 == 0o700
    assert (data / "secret_key").stat().st_mode & 0o777 == 0o600
    assert settings_of(data)[0] == key


def test_folder_is_made_also_where_the_key_is_given(tmp_path: Path) -> None:
    data = tmp_path / "data"

    assert settings_of(data, STUDIO_SECRET_KEY="given")[0] == "given"
    assert list(data.iterdir()) == []


def test_two_that_start_at_once_have_one_key(tmp_path: Path) -> None:
    with ThreadPoolExecutor(2) as pool:
        first, second = pool.map(settings_of, [tmp_path, tmp_path])

    assert first == second
    assert [file.name for file in tmp_path.iterdir()] == ["secret_key"]


@pytest.mark.parametrize("written", ["a.example,b.example", " a.example , b.example,"])
def test_lists_are_read_with_or_without_spaces(tmp_path: Path, written: str) -> None:
    _, hosts, origins = settings_of(tmp_path, STUDIO_HOSTS=written, STUDIO_ORIGINS=written)

    assert hosts == origins == ["a.example", "b.example"]
