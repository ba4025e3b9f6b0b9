"""Whom the words of a comment name."""

import pytest

from firings.services.mentions import names_in


@pytest.mark.parametrize(
    ("words", "named"),
    [
        ("", ()),
        ("@oona", ("oona",)),
        ("Thanks, @Oona.", ("oona",)),
        ("(@ravi.m), @tove-w: see", ("ravi.m", "tove-w")),
        ("@oona and @OONA", ("oona",)),
        ("mail inka@studio.example", ()),
        ("10 min @804", ("804",)),
        ("@ oona", ()),
        ("@@oona", ()),
        ("a line\n@åse", ("åse",)),
        ("@...", ()),
    ],
)
def test_names_behind_an_at_sign(words: str, named: tuple[str, ...]) -> None:
    assert names_in(words) == named
