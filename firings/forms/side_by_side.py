"""Which firings are laid side by side, and from which moment on their curves run together."""

from collections.abc import Sequence

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict

from firings.models import Firing
from firings.queries.side_by_side import FEWEST, MOST

LONGEST_NUMBER = 12
MOST_KEPT = 24
"""Of firings that were asked for, as many as are still shown to choose from."""
MOST_NAMED = 5
"""Of what leads to no firing, in one message."""


class SideBySideForm(forms.Form):
    """What an address asks for. Nothing that was chosen is lost where it can't be had.

    `chosen` are the numbers of firings that exist, `astray` the words that lead to none.
    """

    ALIGNED = (("top", "when the top was reached"), ("start", "from the start"))

    firing = forms.Field(required=False)
    aligned = forms.CharField(required=False)

    def __init__(self, query: QueryDict) -> None:
        super().__init__(query)
        words = _words(query.getlist("firing"))
        numbers = {word: int(word) for word in words if _is_number(word)}
        asked = list(dict.fromkeys(numbers.values()))
        known = set(Firing.objects.filter(pk__in=asked).values_list("pk", flat=True))
        self.chosen = [number for number in asked if number in known]
        self.astray = [word for word in words if numbers.get(word) not in known]

    @property
    def is_asked(self) -> bool:
        """Whether anything was chosen at all."""
        return bool(self.chosen or self.astray)

    @property
    def to_show(self) -> list[int]:
        return self.chosen[:MOST_KEPT]

    @property
    def written(self) -> str:
        """What leads to no firing, as it is given back to be mended."""
        return ", ".join(self.astray[:MOST_KEPT])

    def clean_firing(self) -> list[int]:
        if self.astray:
            named = " or ".join(f"“{word}”" for word in self.astray[:MOST_NAMED])
            rest = " and others" if len(self.astray) > MOST_NAMED else ""
            raise ValidationError(
                f"There is no firing {named}{rest}. A firing’s number stands on its page."
            )
        if not self.chosen:
            raise ValidationError("Choose two to six firings.")
        if len(self.chosen) < FEWEST:
            raise ValidationError("One firing has nothing beside it: choose one to five more.")
        if len(self.chosen) > MOST:
            raise ValidationError(
                f"{len(self.chosen)} firings are too many to read side by side: leave six at most."
            )
        return self.chosen

    def clean_aligned(self) -> str:
        """Of the two that a page links to; anything else is the first."""
        asked: str = self.cleaned_data["aligned"]
        return asked if asked in dict(self.ALIGNED) else self.ALIGNED[0][0]


def _words(asked: Sequence[str]) -> list[str]:
    """What was ticked and written (“12, #15”), each once."""
    found = (word for text in asked for word in text.replace(",", " ").split())
    return list(dict.fromkeys(word.removeprefix("#") for word in found))


def _is_number(word: str) -> bool:
    return word.isdecimal() and len(word) <= LONGEST_NUMBER
