"""Whose is a fault that several people share: the kiln's, the schedule's, or one firing's?

Pieces of one load share whatever happened in it, so the firing is the unit: a kiln is suspected
when more of its firings' pieces show the fault than the same firings would, dealt to the kilns by
chance. Compared within one schedule, the kiln is told apart from the schedule, and the other way
round; where each was fired only with the other, it stays open.

Source: the stratified permutation test of a sum of scores in its normal approximation, with mean
and variance of a sample drawn without replacement (standard textbook statistics). How many makers
and firings must show a fault before it is pointed out: common practice, no source.
"""

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.stats import betabinom

FEWEST_MAKERS = 3
FEWEST_FIRINGS = 2
TIMES_AS_OFTEN = 1.5
SUSPECTED_FROM = 3.0  # standard deviations, all told; a term asks some dozen such questions
BORNE_OUT_FROM = 1.64  # within the same schedules, or the same kilns
ONE_FIRING_CHANCE = 0.05  # of any firing of the term
SHARED_LUCK = 0.08  # correlation of pieces in one load, common practice, no source

Cause = Literal["kiln", "schedule", "kiln_or_schedule", "firing"]


@dataclass(frozen=True)
class SeenPiece:
    """A piece that was judged: where, by which schedule, whose, and what was wrong with it."""

    firing: Hashable
    kiln: Hashable
    schedule: Hashable
    maker: Hashable
    faults: frozenset[str] = frozenset()


@dataclass(frozen=True)
class SharedFault:
    """A fault and what it is put down to; `kiln`, `schedule`, `firing` are None where not meant.

    `pieces` of `of` pieces there show it, `elsewhere` of `elsewhere_of` anywhere else; `makers`
    and `firings` count those with the fault. `strength`: standard deviations above chance.
    """

    kind: str
    cause: Cause
    kiln: Hashable | None
    schedule: Hashable | None
    firing: Hashable | None
    pieces: int
    of: int
    makers: int
    firings: int
    elsewhere: int
    elsewhere_of: int
    strength: float


def shared_faults(seen: Iterable[SeenPiece]) -> list[SharedFault]:
    """What several people share, the plainest first; empty when nothing stands out.

    >>> odd = [SeenPiece(n, "Heron", n % 2, n % 5, frozenset({"bubble"})) for n in range(8)]
    >>> even = [SeenPiece(20 + n, "Wren", n % 2, n % 5) for n in range(16)]
    >>> [(found.kind, found.cause, found.kiln) for found in shared_faults(odd + even)]
    [('bubble', 'kiln', 'Heron')]
    """
    pieces = list(seen)
    kinds = sorted({kind for piece in pieces for kind in piece.faults})
    found = [one for kind in kinds for one in _of_kind(pieces, kind)]
    return sorted(found, key=lambda one: (-one.strength, one.kind))


def _of_kind(pieces: Sequence[SeenPiece], kind: str) -> list[SharedFault]:
    if len({piece.maker for piece in pieces if kind in piece.faults}) < FEWEST_MAKERS:
        return []
    firings = _Firings(pieces, kind)
    kilns = [one for one in firings.values("kiln") if firings.stands_out("kiln", one)]
    schedules = [one for one in firings.values("schedule") if firings.stands_out("schedule", one)]
    found = _told_apart(firings, kilns, schedules)
    covered = [firings.where(one.kiln, one.schedule) for one in found]
    return found + firings.single_ones(np.any(covered, axis=0) if covered else None)


def _told_apart(
    firings: "_Firings", kilns: list[Hashable], schedules: list[Hashable]
) -> list[SharedFault]:
    """Each suspect that is borne out beside the other; pairs that nothing tells apart as one."""
    kiln_within = {kiln: firings.strength("kiln", kiln, "schedule") for kiln in kilns}
    schedule_within = {one: firings.strength("schedule", one, "kiln") for one in schedules}
    found = []
    for kiln in kilns:
        within, rival = kiln_within[kiln], firings.rival("schedule", schedules, kiln)
        if rival is None or _borne_out(within):
            found.append(firings.shared("kiln", kiln=kiln))
        elif not _borne_out(schedule_within[rival]):
            found.append(firings.shared("kiln_or_schedule", kiln=kiln, schedule=rival))
    paired = {one.schedule for one in found}
    for schedule in schedules:
        if schedule in paired:
            continue
        rival = firings.rival("kiln", kilns, schedule)
        if rival is None or _borne_out(schedule_within[schedule]):
            found.append(firings.shared("schedule", schedule=schedule))
    return found


def _borne_out(strength: float | None) -> bool:
    return strength is not None and strength >= BORNE_OUT_FROM


class _Firings:
    """The firings with their pieces counted, for one kind of fault."""

    def __init__(self, pieces: Sequence[SeenPiece], kind: str) -> None:
        self.kind = kind
        self.pieces = pieces
        of: dict[Hashable, list[SeenPiece]] = {}
        for piece in pieces:
            of.setdefault(piece.firing, []).append(piece)
        self.firing = list(of)
        self.loads = list(of.values())
        self.labels = {
            "kiln": [load[0].kiln for load in self.loads],
            "schedule": [load[0].schedule for load in self.loads],
        }
        self.count = np.array([len(load) for load in self.loads], dtype=float)
        self.faulty = np.array(
            [sum(kind in piece.faults for piece in load) for load in self.loads], dtype=float
        )
        self.score = self.faulty - self.count * (self.faulty.sum() / self.count.sum())

    def values(self, label: str) -> list[Hashable]:
        return list(dict.fromkeys(self.labels[label]))

    def mask(self, label: str, value: Hashable) -> NDArray[np.bool_]:
        return np.array([one == value for one in self.labels[label]])

    def where(self, kiln: Hashable | None, schedule: Hashable | None) -> NDArray[np.bool_]:
        """Firings of that kiln and that schedule; None is any."""
        there = np.ones(len(self.firing), dtype=bool)
        if kiln is not None:
            there &= self.mask("kiln", kiln)
        if schedule is not None:
            there &= self.mask("schedule", schedule)
        return there

    def stands_out(self, label: str, value: Hashable) -> bool:
        there = self.mask(label, value)
        strength = self.strength(label, value, None)
        return (
            strength is not None
            and strength >= SUSPECTED_FROM
            and self._makers(there) >= FEWEST_MAKERS
            and int(np.count_nonzero(self.faulty[there])) >= FEWEST_FIRINGS
            and self._share(there) >= TIMES_AS_OFTEN * self._share(~there)
        )

    def strength(self, label: str, value: Hashable, within: str | None) -> float | None:
        """Standard deviations of the scores there above chance; None where nothing varies.

        With `within`, only firings that share that label are held against each other.
        """
        there = self.mask(label, value)
        strata = [np.ones(len(there), dtype=bool)]
        if within is not None:
            strata = [self.mask(within, one) for one in self.values(within)]
        above = variance = 0.0
        for stratum in strata:
            scores, drawn = self.score[stratum], int(there[stratum].sum())
            size = len(scores)
            if size < 2 or drawn in (0, size):
                continue
            above += float(scores[there[stratum]].sum() - drawn * scores.mean())
            variance += drawn * (size - drawn) / size * float(scores.var(ddof=1))
        return above / float(np.sqrt(variance)) if variance > 0 else None

    def rival(self, label: str, suspects: list[Hashable], other: Hashable) -> Hashable | None:
        """The suspect of the other sort that shares most faulty pieces with this one."""
        across = "kiln" if label == "schedule" else "schedule"
        beside = self.mask(across, other)
        shared = {one: self.faulty[beside & self.mask(label, one)].sum() for one in suspects}
        best = max(shared, key=lambda one: shared[one], default=None)
        return best if best is not None and shared[best] > 0 else None

    def shared(
        self, cause: Cause, *, kiln: Hashable | None = None, schedule: Hashable | None = None
    ) -> SharedFault:
        label = "kiln" if kiln is not None else "schedule"
        strength = self.strength(label, kiln if kiln is not None else schedule, None)
        return self._told(cause, self.where(kiln, schedule), strength or 0.0, kiln, schedule)

    def single_ones(self, covered: NDArray[np.bool_] | None) -> list[SharedFault]:
        """Firings in which several makers' pieces show it, more than chance would have it."""
        found = []
        for index, firing in enumerate(self.firing):
            if covered is not None and covered[index]:
                continue
            there = np.arange(len(self.firing)) == index
            faulty, count = int(self.faulty[index]), int(self.count[index])
            if self._makers(there) < FEWEST_MAKERS or 2 * faulty < count:
                continue
            # A fault that was never seen elsewhere may still turn up: half a piece is assumed.
            usual = (self.faulty[~there].sum() + 0.5) / (self.count[~there].sum() + 1.0)
            tied = (1 - SHARED_LUCK) / SHARED_LUCK
            by_chance = betabinom(count, usual * tied, (1 - usual) * tied)
            if by_chance.sf(faulty - 1) * len(self.firing) > ONE_FIRING_CHANCE:
                continue
            strength = float((faulty - by_chance.mean()) / by_chance.std())
            found.append(self._told("firing", there, strength, firing=firing))
        return found

    def _told(
        self,
        cause: Cause,
        there: NDArray[np.bool_],
        strength: float,
        kiln: Hashable | None = None,
        schedule: Hashable | None = None,
        firing: Hashable | None = None,
    ) -> SharedFault:
        return SharedFault(
            kind=self.kind,
            cause=cause,
            kiln=kiln,
            schedule=schedule,
            firing=firing,
            pieces=int(self.faulty[there].sum()),
            of=int(self.count[there].sum()),
            makers=self._makers(there),
            firings=int(np.count_nonzero(self.faulty[there])),
            elsewhere=int(self.faulty[~there].sum()),
            elsewhere_of=int(self.count[~there].sum()),
            strength=strength,
        )

    def _makers(self, there: NDArray[np.bool_]) -> int:
        return len(
            {
                piece.maker
                for load, counts in zip(self.loads, there, strict=True)
                if counts
                for piece in load
                if self.kind in piece.faults
            }
        )

    def _share(self, there: NDArray[np.bool_]) -> float:
        count = float(self.count[there].sum())
        return float(self.faulty[there].sum()) / count if count else 0.0
