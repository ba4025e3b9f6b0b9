"""Looking for words in the texts of rows, the same in every list."""

from collections.abc import Callable, Sequence

from django.db.models import Q

MOST_WORDS = 8
"""Of a search: each costs a look at every row, and databases bound how long a question may be."""


def every_word(text: str, place_of: Callable[[str], Q]) -> Q:
    """Whether each word of a text is found; `place_of` gives where one word may stand."""
    found = Q()
    for word in text.split()[:MOST_WORDS]:
        found &= place_of(word)
    return found


def contains(fields: Sequence[str], word: str) -> Q:
    """Whether a field holds the word. SQLite folds capitals of plain letters only: é needs both."""
    variants = {word} if word.isascii() else {word, word.lower(), word.upper(), word.capitalize()}
    found = Q()
    for field in fields:
        for variant in sorted(variants):
            found |= Q(**{f"{field}__icontains": variant})
    return found
