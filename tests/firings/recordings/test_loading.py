"""What is loaded with the reader: every process of the site pays for it, few read a file."""

import subprocess
import sys

import pytest

LOADED = "import sys, firings.services.recording as package; print(*sys.modules)"


@pytest.mark.parametrize("library", ["pandas", "openpyxl", "scipy.special"])
def test_what_only_a_file_needs_is_loaded_with_it(library: str) -> None:
    done = subprocess.run(  # noqa: S603  our own interpreter
        [sys.executable, "-c", LOADED], capture_output=True, check=True
    )
    modules = done.stdout.decode().split()
    assert "numpy" in modules
    assert library not in modules
