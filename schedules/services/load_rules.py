"""What is laid into the kiln: whether the glass belongs together and has room."""

from collections.abc import Iterator

from schedules.services.anneal_thickness import LARGE_SHARE
from schedules.services.case import Case, Remark, Remedy
from schedules.services.heating_rules import first_heating, heating_limit
from studio.services.glass_match import reactions_among

STAYS_STIFF = ("anneal_only", "bead_anneal", "metal_clay")
"""Processes in which no glass grows soft enough to react."""

ROUNDED = 1.02
"""Times the gentle rate up to which a round figure stands for it."""


def families(case: Case) -> Iterator[Remark]:
    """Different families are never fused into one piece, unless to see whether they fit."""
    named = set(case.load.families)
    if len(named) < 2:
        return
    if case.load.is_fit_test:
        yield Remark("families_tested", "note", figure=len(named), limit=1)
    else:
        yield Remark("families_mixed", "block", figure=len(named), limit=1)


def reactions(case: Case) -> Iterator[Remark]:
    """Glasses that darken where they touch while they are soft; see `reactions_among`."""
    if case.process in STAYS_STIFF:
        return
    met = reactions_among(case.load.chemistries)
    if ("sulphur", "copper") in met:
        yield Remark("sulphur_meets_copper", "warn")
    if ("sulphur", "lead") in met:
        yield Remark("sulphur_meets_lead", "warn")
    if ("sulphur", "silver") in met:
        yield Remark("sulphur_meets_silver", "warn")


def strikers(case: Case) -> Iterator[Remark]:
    """Colours that come with the heat only."""
    if case.load.strikers and case.process not in STAYS_STIFF:
        yield Remark("colour_strikes", "note", figure=case.load.strikers)


def size(case: Case) -> Iterator[Remark]:
    """A piece that nearly fills the chamber wants a gentler first heating; one that fills it has no
    room. That its anneal is gentler too is seen to by the thickness for which it is annealed."""
    share = case.share_of_chamber
    if share > 1:
        yield Remark("piece_wider_than_chamber", "block", figure=share, limit=1.0)
    elif share > LARGE_SHARE:
        limit = heating_limit(case)
        for index, rate in first_heating(case):
            if limit is not None and rate > ROUNDED * limit:
                remedy = Remedy("set_rate", limit)
                yield Remark("piece_large_for_chamber", "note", index, rate, limit, remedy)
