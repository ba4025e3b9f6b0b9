"""Which short codes are too easy to guess, by eye or by trying the likely ones first."""

from itertools import pairwise

SHORTEST, LONGEST = 4, 8
YEARS = range(1900, 2100)


def weakness(code: str) -> str | None:
    """Why `code` can't be taken: one word, or None where it can.

    Words: “digits” (something else than 0 to 9), “length” (not 4 to 8 of them), “same” (one digit
    alone), “run” (each digit follows the one before, up or down, 9 and 0 being neighbours),
    “repeated” (the second half is the first again), “year” (four digits from 1900 to 2099). People
    choose these far more often than others: common practice, no source.

    >>> weakness("4321"), weakness("7272"), weakness("5839")
    ('run', 'repeated', None)
    """
    if not (code.isascii() and code.isdecimal()):
        return "digits"
    if not SHORTEST <= len(code) <= LONGEST:
        return "length"
    steps = {(int(after) - int(before)) % 10 for before, after in pairwise(code)}
    if steps == {0}:
        return "same"
    if steps in ({1}, {9}):
        return "run"
    half = len(code) // 2
    if code[:half] * 2 == code:
        return "repeated"
    if len(code) == 4 and int(code) in YEARS:
        return "year"
    return None
