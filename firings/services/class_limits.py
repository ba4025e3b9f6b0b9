"""What a class lets its students fire: which kilns, which schedules, up to which temperature.

Source: the studio's own rule; no computation of the trade.
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import Literal

Part = Literal["kiln", "schedule", "temperature"]


@dataclass(frozen=True)
class ClassLimits:
    """Of one class; an empty set allows every kiln or schedule, None every temperature (°C)."""

    name: str
    kilns: frozenset[Hashable] = frozenset()
    schedules: frozenset[Hashable] = frozenset()
    highest: float | None = None

    def refused(self, kiln: Hashable, schedule: Hashable, peak: float) -> tuple[Part, ...]:
        """The parts of a plan that it doesn't allow; `peak` is its highest target, °C."""
        refused: list[Part] = []
        if self.kilns and kiln not in self.kilns:
            refused.append("kiln")
        if self.schedules and schedule not in self.schedules:
            refused.append("schedule")
        if self.highest is not None and peak > self.highest + 1e-6:
            refused.append("temperature")
        return tuple(refused)


def nearest_refusal(
    classes: Sequence[ClassLimits], *, kiln: Hashable, schedule: Hashable, peak: float
) -> tuple[ClassLimits, tuple[Part, ...]] | None:
    """None where one of a student's classes allows all of a plan, or where there is no class.

    Otherwise the class that comes nearest to allowing it, with what it refuses.

    Examples
    --------
    >>> small = ClassLimits("Beginners", kilns=frozenset({"Wren"}), highest=810.0)
    >>> nearest_refusal([small], kiln="Wren", schedule=4, peak=804.0) is None
    True
    >>> nearest_refusal([small], kiln="Heron", schedule=4, peak=830.0)[1]
    ('kiln', 'temperature')
    """
    found = [(one, one.refused(kiln, schedule, peak)) for one in classes]
    if not found or any(not refused for _, refused in found):
        return None
    return min(found, key=lambda each: len(each[1]))
