"""Loads and kilns of every kind, and drafts for them made unsafe in one number."""

from dataclasses import replace
from math import log10
from random import Random

from schedules.services.anneal_plan import SOAK_PER_METRE
from schedules.services.anneal_thickness import anneal_thickness
from schedules.services.checks import KilnLimits, Load
from schedules.services.conduction import steady_difference
from schedules.services.curve import Segment
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse

FUSING = Glass(493.0, 532.0, 677.0, expansion=9.0e-6)
GLASSES = (
    (FUSING, 482.0),
    (FUSING, None),
    (Glass(476.0, 512.0, 680.0, expansion=9.6e-6), 510.0),
    (Glass(), 548.0),
    (Glass(), None),
)
CASTING = (Glass(408.0, 440.0, 582.0, expansion=10.4e-6), 430.0)
PROCESSES = (
    "full_fuse",
    "contour_fuse",
    "tack_fuse",
    "slump",
    "drape",
    "drop_out",
    "fire_polish",
    "cast",
    "anneal_only",
    "bead_anneal",
)
THICKEST = {"cast": 100.0, "bead_anneal": 30.0}
DIFFERENCE = 5.0
"""°C through a piece while its stress is settled that no draft may come to."""


def any_load(chance: Random) -> tuple[str, Load, KilnLimits]:
    process = chance.choice(PROCESSES)
    glass, soak = chance.choice((*GLASSES, CASTING) if process == "cast" else GLASSES)
    thickest = chance.uniform(3.0, THICKEST.get(process, 25.0)) / 1000.0
    chamber = (chance.uniform(0.3, 1.0), chance.uniform(0.3, 1.0), 0.3)
    width = chance.uniform(0.03, 1.0) * min(chamber[:2])
    load = Load(
        glass,
        thickest=thickest,
        thinnest=thickest * chance.uniform(0.5, 1.0),
        layers=chance.choice((1, 2, 3)),
        width=width,
        length=chance.uniform(0.2, 1.0) * width,
        anneal_soak=soak,
    )
    unit = chance.choice("CF")
    degree = 1.0 if unit == "C" else 5 / 9
    limit, cooling = chance.uniform(1050.0, 1300.0), chance.uniform(1.5, 7.0) * 3600.0
    response = KilnResponse(
        limit,
        (limit - 700.0) / chance.uniform(200.0, 700.0) * 3600.0,
        cooling,
        slow_cooling_time_constant=chance.choice((None, cooling * chance.uniform(1.0, 2.2))),
    )
    kiln = KilnLimits(
        chance.uniform(920.0, 1000.0),
        chance.choice((None, 6, 8, 12, 20)),
        degree * (0.1 if thickest > 0.03 else 1.0),
        chamber,
        chance.choice((None, response, response)),
        chance.uniform(-12.0, 12.0),
        unit=unit,
    )
    return process, load, kiln


def anneal_of(segments: list[Segment]) -> int:
    """Index of the longest hold after the top; of the top, where nothing is held after it."""
    top = max(range(len(segments)), key=lambda index: segments[index].target)
    after = [index for index in range(top + 1, len(segments)) if segments[index].hold > 0]
    return max(after, key=lambda index: segments[index].hold, default=top)


def unsafe_forms(segments: list[Segment]) -> dict[str, list[Segment]]:
    """The rate after the soak doubled, the soak halved, the anneal or the top elsewhere."""
    soak = anneal_of(segments)
    top = max(range(len(segments)), key=lambda index: segments[index].target)

    def with_change(index: int, **changes: float) -> list[Segment]:
        changed = replace(segments[index], **changes)
        return [*segments[:index], changed, *segments[index + 1 :]]

    forms = {
        "soak halved": with_change(soak, hold=segments[soak].hold / 2),
        "anneal 40 °C low": with_change(soak, target=segments[soak].target - 40.0),
        "anneal 40 °C high": with_change(soak, target=segments[soak].target + 40.0),
        "top 60 °C high": with_change(top, target=segments[top].target + 60.0),
    }
    for index, segment in enumerate(segments):
        if segment.rate is not None:
            forms[f"rate {index} doubled"] = with_change(index, rate=2 * segment.rate)
    return forms


TOPS_OF_PRACTICE = {
    "full_fuse": 816.0,
    "contour_fuse": 788.0,
    "tack_fuse": 760.0,
    "fire_polish": 730.0,
    "slump": 680.0,
    "drape": 680.0,
}
"""°C, the hottest of each process for fusing glass; common practice, no source. A drop-out and a
casting go by the maker's sheet, and have none."""
SOFTER = 2.0
"""How many times more fluid than at those the glass must be to count as past them: it flows as far
in half the time, and a piece that wanted ten minutes has had twenty."""


def published_log10_viscosity(temperature: float, softening_point: float) -> float:
    """Of window glass, moved to soften where another glass does: log10 η = −2.585 + 4215/(T − 263)
    in Pa·s (List of physical properties of glass, Wikipedia; read), which softens at 721.9 °C."""
    return -2.585 + 4215.0 / (temperature + 721.9 - softening_point - 263.0)


def top_is_past_its_range(
    segments: list[Segment], process: str, load: Load, kiln: KilnLimits
) -> bool:
    """Whether the glass is more than `SOFTER` times as fluid at its hottest as fusing glass is at
    the hottest of the process: by a published viscosity, apart from the check's rule of thumb for
    harder and softer glasses and from its tolerance."""
    if process not in TOPS_OF_PRACTICE:
        return False
    top = max(segment.target for segment in segments) + kiln.offset
    found = published_log10_viscosity(top, load.glass.softening_point)
    limit = published_log10_viscosity(TOPS_OF_PRACTICE[process], FUSING.softening_point)
    return limit - found > log10(SOFTER)


def passes_a_limit(segments: list[Segment], process: str, load: Load, kiln: KilnLimits) -> bool:
    """By sums on the segments alone, apart from the curve and the solver that a check uses: how
    stiff the glass is at the top, the steady difference after the soak, its length, and whether it
    is where stress flows."""
    if top_is_past_its_range(segments, process, load, kiln):
        return True
    # Laid the way round that leaves most room: its length is never more than its width here.
    share = max(load.length / min(kiln.chamber[:2]), load.width / max(kiln.chamber[:2]))
    thickness = anneal_thickness(
        load.thickest, load.thinnest, process, share_of_chamber=share
    ).by_factor
    faces = 2 if process == "bead_anneal" else 1
    glass, soak = load.glass, anneal_of(segments)
    held = segments[soak].target + kiln.offset
    if not glass.strain_point - 25.0 <= held <= glass.annealing_point + 15.0:
        return True
    if segments[soak].hold < 0.6 * SOAK_PER_METRE * thickness / faces:
        return True
    if soak + 1 == len(segments) or segments[soak + 1].rate is None:
        return False
    cooling = segments[soak + 1]
    rate = cooling.rate
    if kiln.response is not None:
        # No faster than the kiln falls by itself on the way.
        rate = min(rate, kiln.response.fall_at((segments[soak].target + cooling.target) / 2))
    return steady_difference(rate, thickness, glass, faces) > DIFFERENCE
