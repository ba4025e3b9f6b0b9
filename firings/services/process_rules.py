"""What each process lets the advice do with the top, and what it likes better.

The preferences are those of the fault table: the lever that it tries first counts in full.
"""

from firings.services.evidence import Situation
from firings.services.fault_table import row_for_verdict
from schedules.services.process_ranges import DEVITRIFICATION, TemperatureRange, peak_range

TOP_IS_THE_ANNEAL = frozenset({"anneal_only", "bead_anneal"})
NO_VISCOUS_GLASS = frozenset({"metal_clay"})
LONG_DWELL_DEVITRIFIES = frozenset({"full_fuse", "contour_fuse", "fire_polish"})

ANNEAL_MARGIN = 30.0
"""°C above the annealing point up to which a top is an anneal and works no glass."""
DEVITRIFICATION_MARGIN = 40.0
"""°C above the devitrification range over which a long dwell is still avoided."""

# How much of its worth a lever keeps. Small: a preference decides between near equals only.
FIRST_CHOICE = 1.0
SECOND_CHOICE = 0.97
NOT_NAMED = 0.93
DEVITRIFYING = 0.93

LEVERS = {
    "raise_peak": "peak",
    "lower_peak": "peak",
    "lengthen_hold": "hold",
    "shorten_hold": "hold",
}


def process_key(process: str | None) -> str | None:
    """The process as the tables spell it, from its key or from its name in words.

    Examples
    --------
    >>> process_key("tack fuse"), process_key("metal clay sinter"), process_key(None)
    ('tack_fuse', 'metal_clay', None)
    """
    if process is None:
        return None
    key = "_".join(process.lower().split())
    return "metal_clay" if key == "metal_clay_sinter" else key


def allowed_range(situation: Situation) -> TemperatureRange | None:
    """The range of the process's peak in the glass, °C; None where nobody states one."""
    if situation.process_range is not None:
        return TemperatureRange(*situation.process_range)
    return peak_range(process_key(situation.process))


def lever_preferences(process: str | None, peak: float, *, up: bool) -> tuple[float, float]:
    """What a change of the peak and one of the hold keep of their worth, 0 to 1.

    Parameters
    ----------
    process : see `Situation`
    peak : in the glass, °C
    up : whether more heat work is wanted

    Examples
    --------
    >>> lever_preferences("slump", 677.0, up=True)  # longer before hotter
    (0.93, 1.0)
    >>> lever_preferences(None, 804.0, up=True)
    (1.0, 1.0)
    """
    key = process_key(process)
    row = row_for_verdict(key, -1 if up else 1)
    levers = {"peak": FIRST_CHOICE, "hold": FIRST_CHOICE}
    if row is not None:
        named = [LEVERS[attempt.act] for attempt in row.tries if attempt.act in LEVERS]
        for lever in levers:
            if lever not in named:
                levers[lever] = NOT_NAMED
            elif named[0] != lever:
                levers[lever] = SECOND_CHOICE
    high = DEVITRIFICATION.high + DEVITRIFICATION_MARGIN
    if key in LONG_DWELL_DEVITRIFIES and DEVITRIFICATION.low <= peak <= high:
        # A shorter dwell is wanted: hotter rather than longer, shorter rather than cooler.
        levers = {"peak": FIRST_CHOICE, "hold": DEVITRIFYING}
        if not up:
            levers = {"peak": DEVITRIFYING, "hold": FIRST_CHOICE}
    return levers["peak"], levers["hold"]
