import pytest

from studio.services.short_codes import weakness


@pytest.mark.parametrize(
    ("code", "why"),
    [
        ("", "digits"),
        ("12a4", "digits"),
        ("١٢٣٥", "digits"),  # digits, but none of a keypad
        ("-583", "digits"),
        ("583", "length"),
        ("583961274", "length"),
        ("0000", "same"),
        ("77777777", "same"),
        ("1234", "run"),
        ("4321", "run"),
        ("7890", "run"),
        ("21098", "run"),
        ("1212", "repeated"),
        ("583583", "repeated"),
        ("1987", "year"),
        ("2026", "year"),
    ],
)
def test_what_would_be_guessed_first_is_refused(code: str, why: str) -> None:
    assert weakness(code) == why


@pytest.mark.parametrize("code", ["5839", "60417", "1357", "19870", "1235", "58395839"[:7]])
def test_others_are_taken(code: str) -> None:
    assert weakness(code) is None
