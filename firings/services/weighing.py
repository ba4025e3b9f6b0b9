"""Past firings as evidence: where each lies in heat work here, and how much it weighs."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import hypot

import numpy as np

from firings.services.evidence import PastFiring, Placed, Situation, in_order
from firings.services.exchange_fit import ExchangeFit, fit_exchange
from firings.services.top import GlassTerms
from firings.services.verdict_model import (
    NOISES,
    REACH,
    SLOPES,
    Beliefs,
    Doubt,
    Floats,
    Judgement,
    infer,
)

# How far off things may be before anything is known; standard deviations, our own estimates.
SCHEDULE_DOUBT = 7.0
"""°C between what a schedule gives and what is wanted of it, in a kiln that reads true: the trade's
first tries are 5 to 15 °C (`fault_table`), and its range for a fuse or tack is 26 to 30 °C wide,
which is a standard deviation of 8 (common practice, no source)."""
OFFSET_DOUBT = 5.0
"""°C between the display and the glass in one kiln: nearly all lie within 15 °C."""
KILN_DOUBT = 7.0
"""°C between two kilns of which nothing is known: two such offsets."""
KNOWN_KILN_DOUBT = 4.0
"""°C, where the other kiln's offset was measured: with tiles or pieces, near enough."""
SERVICE_DOUBT = 4.0
"""°C between a kiln before and after a new thermocouple or new elements."""
CHANGE_DOUBT = 5.0
"""°C that something else which changed (batch, mould, place, …) may be worth."""


PLACE_DOUBT = 3.0
"""°C from the middle of a shelf to its edge, see `pieces.OTHER_PLACE_UNCERTAINTY`."""
THICKNESS_DOUBT = 5.0
"""°C between one class of thickness and another."""
LEAST_APART = 3
"""Firings from which a shift is told."""


@dataclass(frozen=True)
class ApartShift:
    """What another place or another thickness makes, as the verdicts show it.

    Attributes
    ----------
    place, thickness_class : the other one; None where it is the same
    shift : °C of peak more that it wants
    doubt : its standard deviation, °C
    firings : behind it
    """

    place: Hashable | None
    thickness_class: Hashable | None
    shift: float
    doubt: float
    firings: tuple[Hashable, ...]


@dataclass(frozen=True)
class RestsOn:
    """A firing that the advice rests on.

    Attributes
    ----------
    firing : as `PastFiring.firing` names it
    weight : above 0, up to 1 for a firing whose heat work in this kiln is known exactly
    """

    firing: Hashable | None
    weight: float


@dataclass(frozen=True)
class History:
    """The firings of a schedule, as they bear on one kiln.

    Parameters
    ----------
    past : firings in this kiln and in others
    terms : the schedule in its kiln
    exchange : what the firings taught of the exchange between peak and hold, if anything
    """

    past: Sequence[PastFiring]
    terms: GlassTerms
    exchange: ExchangeFit | None = None

    @cached_property
    def ordered(self) -> list[PastFiring]:
        """All of them, first to last."""
        return in_order(self.past)

    @cached_property
    def epoch(self) -> int:
        """The kiln's service epoch now."""
        if self._situation.service_epoch is not None:
            return self._situation.service_epoch
        own = [one.service_epoch for one in self.ordered if one.kiln == self._situation.kiln]
        return max(own, default=0)

    @cached_property
    def doubt(self) -> Doubt:
        degree = self.terms.per_degree
        return Doubt(
            target=hypot(SCHEDULE_DOUBT, OFFSET_DOUBT) * degree,
            kiln=KILN_DOUBT * degree,
            service=SERVICE_DOUBT * degree,
            kilns=dict.fromkeys(self._situation.offsets or {}, KNOWN_KILN_DOUBT * degree),
            apart={name: doubt * degree for name, doubt in self._apart.items()},
        )

    @cached_property
    def _apart(self) -> dict[tuple[Hashable, Hashable], float]:
        """What sets firings in this kiln apart, with the doubt of its shift in °C."""
        named = (self.apart(one) for one in self.ordered if one.tells)
        return {name: apart_doubt(name) for name in named if name is not None}

    def apart(self, firing: PastFiring) -> tuple[Hashable, Hashable] | None:
        """The other place and the other thickness by which a firing here differs, if any."""
        here = self._situation
        if firing.kiln != here.kiln:
            return None
        other = (
            _other(firing.place, here.place),
            _other(firing.thickness_class, here.thickness_class),
        )
        return None if other == (None, None) else other

    @cached_property
    def apart_shifts(self) -> list[ApartShift]:
        """The shifts that the verdicts show beyond doubt, of all that is set apart."""
        found = []
        for name, spread in self._apart.items():
            there = [one for one in self.evidence_here if self.apart(one.firing) == name]
            if len(there) < LEAST_APART:
                continue
            beliefs = infer(
                [replace(self._judgement(one), apart=None) for one in there],
                self.beliefs.wanted,
                Doubt(spread * self.terms.per_degree, 0.0, 0.0),
                self._situation.kiln,
                service_epoch=self.epoch,
            )
            shift = (beliefs.wanted - self.beliefs.wanted) / self.terms.per_degree
            doubt = hypot(beliefs.doubt, self.beliefs.doubt) / self.terms.per_degree
            if abs(shift) > doubt:
                names = tuple(one.firing.firing for one in there if one.firing.firing is not None)
                found.append(ApartShift(name[0], name[1], shift, doubt, names))
        return found

    @cached_property
    def evidence(self) -> list[Placed]:
        """Those that say something, first to last."""
        telling = [one for one in self.ordered if one.tells]
        ln_heat_work = self.terms.of_display(
            np.array([one.heat_work for one in telling], dtype=np.float64),
            np.array([self._offset(one) for one in telling], dtype=np.float64),
            np.array([self._hold(one) for one in telling], dtype=np.float64),
        )
        placed = map(Placed, telling, ln_heat_work.tolist())
        return [one for one in placed if abs(one.ln_heat_work - self.terms.own) <= self._reach]

    @cached_property
    def left_out(self) -> list[PastFiring]:
        """Those that were judged and yet say nothing: no sensible heat work, or one far away."""
        used = {id(one.firing) for one in self.evidence}
        return [one for one in self.ordered if one.verdict is not None and id(one) not in used]

    @cached_property
    def firings_here(self) -> list[PastFiring]:
        """All firings in this kiln since its last service, first to last."""
        return [one for one in self.ordered if self.is_here(one)]

    @cached_property
    def evidence_here(self) -> list[Placed]:
        """Those of them that say something."""
        return [one for one in self.evidence if self.is_here(one.firing)]

    @cached_property
    def beliefs(self) -> Beliefs:
        """What the schedule wants in this kiln."""
        return self.beliefs_on(SLOPES, NOISES)

    def beliefs_on(self, slopes: Floats, noises: Floats) -> Beliefs:
        """The same for given slopes, shape (s,), and noises, shape (t,)."""
        return infer(
            [self._judgement(one) for one in self.evidence],
            self.terms.own,
            self.doubt,
            self._situation.kiln,
            service_epoch=self.epoch,
            slopes=slopes,
            noises=noises,
        )

    @cached_property
    def rests_on(self) -> tuple[RestsOn, ...]:
        """What each piece of evidence weighs, the latest first."""
        judging = self.beliefs.judging_spread**2
        return tuple(
            RestsOn(one.firing.firing, judging / (judging + self.spread_here(one.firing) ** 2))
            for one in reversed(self.evidence)
        )

    @property
    def _situation(self) -> Situation:
        return self.terms.situation

    @property
    def _reach(self) -> float:
        return REACH * self.doubt.target

    def is_here(self, firing: PastFiring) -> bool:
        """Whether it was in this kiln, since its last service."""
        return firing.kiln == self._situation.kiln and firing.service_epoch == self.epoch

    def _offset(self, firing: PastFiring) -> float:
        """Of the firing's kiln, °C, as far as it is known."""
        if firing.kiln == self._situation.kiln:
            return self._situation.offset
        return (self._situation.offsets or {}).get(firing.kiln, 0.0)

    def _hold(self, firing: PastFiring) -> float:
        """At the top, s; the schedule's own where it is not known."""
        return self.terms.top.hold if firing.known_hold is None else firing.known_hold

    def _judgement(self, one: Placed) -> Judgement:
        firing = one.firing
        assert firing.verdict is not None  # noqa: S101  evidence is judged
        spread = self.spread(firing)
        return Judgement(
            one.ln_heat_work,
            spread,
            firing.verdict,
            firing.kiln,
            firing.service_epoch,
            self.apart(firing),
            firing.sitting,
        )

    def spread(self, firing: PastFiring) -> float:
        """Standard deviation of its ln(heat work), in its own kiln."""
        changed = CHANGE_DOUBT * self.terms.per_degree if firing.also_changed else 0.0
        return hypot(firing.uncertainty, changed)

    def spread_here(self, firing: PastFiring) -> float:
        """The same as it counts in this kiln, now."""
        spread = self.spread(firing)
        if firing.kiln != self._situation.kiln:
            return hypot(spread, self.doubt.of_kiln(firing.kiln))
        return spread if firing.service_epoch == self.epoch else hypot(spread, self.doubt.service)


def apart_doubt(name: tuple[Hashable, Hashable]) -> float:
    """Standard deviation, °C, of the shift of another place, another thickness, or both."""
    place, thickness = name
    return hypot(
        0.0 if place is None else PLACE_DOUBT, 0.0 if thickness is None else THICKNESS_DOUBT
    )


def _other(that: Hashable | None, here: Hashable | None) -> Hashable | None:
    """Something known that differs from something known."""
    return None if here is None or that in (None, here) else that


def weigh(past: Sequence[PastFiring], situation: Situation) -> History:
    """The history of a schedule, with the exchange between peak and hold as it taught it.

    Parameters
    ----------
    past : firings in this kiln and in others
    situation : see `Situation`; the kiln must reach its top
    """
    plain = History(past, GlassTerms(situation))
    judged = [
        (one.firing, plain.spread(one.firing))
        for one in plain.evidence_here
        if plain.apart(one.firing) is None
    ]
    fit = fit_exchange(judged, plain.terms, plain.doubt)
    return plain if fit is None else History(past, GlassTerms(situation, fit.factor), fit)
