"""A change of the top that somebody thinks of: whole steps of the controller, and minutes."""

from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import QueryDict

from firings.services.evidence import StepLimits
from firings.services.top import Top
from studio.formats import duration_difference, temperature_difference

BEYOND = 2
"""Times the studio's largest step, up to which a change can be asked for."""
MOST_STEPS = 24
FINE_MINUTES, COARSE_MINUTES = 1, 5
SECONDS = 60.0


@dataclass(frozen=True)
class Step:
    """One choice beside another, as an address asks for it."""

    peak: int
    hold: int


class WhatIfForm(forms.Form):
    """`peak` is in steps of the controller, `hold` in minutes; what is not asked for is 0."""

    peak = forms.TypedChoiceField(label="Change of the peak", coerce=int)
    hold = forms.TypedChoiceField(label="Change of the hold", coerce=int)

    def __init__(
        self, query: QueryDict, *, top: Top, limits: StepLimits, unit: str, usual: Step
    ) -> None:
        asked = {"peak": str(usual.peak), "hold": str(usual.hold)}
        if "peak" in query or "hold" in query:
            asked = {name: query.get(name) or "0" for name in asked}
        super().__init__(asked)
        self.step_c = limits.peak_resolution
        self.values: dict[str, list[int]] = {}
        self._choose(
            "peak",
            _peak_steps(limits),
            lambda steps: temperature_difference(steps * self.step_c, unit, decimals=1),
        )
        self._choose(
            "hold", _hold_minutes(limits, top), lambda minutes: duration_difference(minutes * 60)
        )

    def _choose(self, name: str, values: list[int], told: Any) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.TypedChoiceField)  # noqa: S101  as declared above
        field.choices = [(value, told(value) if value else "none") for value in values]
        self.values[name] = values

    @property
    def change(self) -> tuple[float, float]:
        """°C and s; 0 for what can't be read."""
        peak, hold = (self._read(name) for name in ("peak", "hold"))
        return peak * self.step_c, hold * SECONDS

    @property
    def steps(self) -> dict[str, Step]:
        """The choices next to the one that is made, by the word for it; none at an end."""
        peak, hold = self._read("peak"), self._read("hold")
        found = {}
        for name, words in (("peak", ("cooler", "hotter")), ("hold", ("shorter", "longer"))):
            for word, value in zip(words, self._beside(name), strict=True):
                if value is not None:
                    found[word] = Step(value, hold) if name == "peak" else Step(peak, value)
        return found

    def _beside(self, name: str) -> tuple[int | None, int | None]:
        values, now = self.values[name], self._read(name)
        return (
            max((value for value in values if value < now), default=None),
            min((value for value in values if value > now), default=None),
        )

    def _read(self, name: str) -> int:
        self.is_valid()
        return int(self.cleaned_data.get(name, 0))


def _peak_steps(limits: StepLimits) -> list[int]:
    most = int(BEYOND * limits.peak / limits.peak_resolution + 1e-9)
    most = min(max(most, 1), MOST_STEPS)
    return list(range(-most, most + 1))


def _hold_minutes(limits: StepLimits, top: Top) -> list[int]:
    """Minute by minute as far as a note goes, then by five; never below no hold at all."""
    fine = max(int(limits.hold / SECONDS), FINE_MINUTES)
    coarse = range(fine + COARSE_MINUTES, BEYOND * fine + 1, COARSE_MINUTES)
    sizes = [*range(FINE_MINUTES, fine + 1, FINE_MINUTES), *coarse]
    values = [-size for size in reversed(sizes)] + [0] + sizes
    return [value for value in values if top.hold + value * SECONDS >= 0]
