"""Rules by which a schedule is tuned: what people do, an oracle, and the advice."""

from dataclasses import replace
from functools import lru_cache

import numpy as np

from firings.services.advice import advice_from
from firings.services.decision import AS_WANTED, Candidates, keyable_changes
from firings.services.top import GlassTerms
from firings.services.verdict_model import log_chances
from firings.services.weighing import weigh
from firings.services.what_if import foretold
from tests.simulation.tuning import DEGREE, LIMITS, SITUATION, Rule, Studio, terms_of


@lru_cache(maxsize=4096)
def changes_of(peak: float, hold: float) -> Candidates:
    return keyable_changes(terms_of(peak, hold), LIMITS)


def nearest_change(terms: GlassTerms, degrees: float) -> tuple[float, float]:
    """The keyable change, of the peak or else of the hold, that is worth this many °C of peak."""
    changes = changes_of(terms.top.peak, terms.top.hold)
    off = np.abs(changes.ln_heat_work - terms.own - degrees * DEGREE)
    best = int(np.argmin(off))
    return float(changes.peak_changes[best]), float(changes.hold_changes[best])


def by_advice(terms: GlassTerms, studio: Studio) -> tuple[float, float]:
    situation = terms.situation
    if studio.offsets:
        situation = replace(situation, offsets=studio.offsets)
    note = advice_from(weigh(studio.past, situation), LIMITS)
    if note.chance_then is not None:
        studio.forecasts.append(note.chance_then)
    return note.peak_change, note.hold_change


def by_advice_or_whim(terms: GlassTerms, studio: Studio) -> tuple[float, float]:
    """Follows the note every other time, else changes the top by something small, or nothing.

    Foretold are then chances of every size, as they are asked for in a what-if.
    """
    history = weigh(studio.past, terms.situation)
    if studio.whims.random() < 0.5:
        note = advice_from(history, LIMITS)
        studio.forecasts.append(note.chances_then[AS_WANTED])
        return note.peak_change, note.hold_change
    changes = changes_of(terms.top.peak, terms.top.hold)
    number = int(studio.whims.integers(changes.peak_changes.size))
    change = float(changes.peak_changes[number]), float(changes.hold_changes[number])
    (told,) = foretold(history, LIMITS, [change])
    studio.forecasts.append(told.chances[AS_WANTED])
    return change


def by_fixed_step(terms: GlassTerms, studio: Studio) -> tuple[float, float]:
    """5 °C against every verdict that was not "as wanted"."""
    return nearest_change(terms, -5.0 * float(np.sign(studio.verdicts[-1])))


def by_proportion(terms: GlassTerms, studio: Studio) -> tuple[float, float]:
    """As far as the verdict was off, at what a verdict is worth on the average."""
    return nearest_change(terms, -PROPORTION * studio.verdicts[-1])


def by_stochastic_approximation(terms: GlassTerms, studio: Studio) -> tuple[float, float]:
    """Robbins–Monro: the same with a gain that falls as one over the number of firings."""
    return nearest_change(terms, -FIRST_GAIN * studio.verdicts[-1] / len(studio.verdicts))


PROPORTION = 5.0
FIRST_GAIN = 6.0
"""°C a verdict, each the best of whole degrees in these runs."""


def by_oracle(terms: GlassTerms, studio: Studio) -> tuple[float, float]:
    """Knows the truth, and picks the likeliest keyable change for "as wanted"."""
    truth = studio.truth
    changes = changes_of(terms.top.peak, terms.top.hold)
    peaks = terms.top.peak + changes.peak_changes + studio.offset
    holds = np.maximum(terms.top.hold + changes.hold_changes, 0.0)
    effects = studio.effect.many(peaks, holds)
    chances = log_chances(
        effects - studio.wanted,
        np.array([truth.slope]),
        np.array([truth.noise]),
        SITUATION.repeatability * DEGREE,
    )[AS_WANTED, :, 0, 0]
    best = int(np.argmax(np.round(chances, 12)))
    return float(changes.peak_changes[best]), float(changes.hold_changes[best])


RULES: dict[str, Rule] = {
    "oracle": by_oracle,
    "advice": by_advice,
    "advice or whim": by_advice_or_whim,
    "fixed 5 °C": by_fixed_step,
    "in proportion": by_proportion,
    "Robbins–Monro": by_stochastic_approximation,
}
