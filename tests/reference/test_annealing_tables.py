"""Rates and times by thickness against two makers' published annealing tables.

Each table is met from one temperature difference across the piece. The makers of the glass, and of
the tables, are named as the sources that they are.
"""

from typing import NamedTuple

import numpy as np
import pytest

from schedules.services.anneal_plan import (
    SOAK_PER_METRE,
    CoolingStage,
    StageRule,
    cooling_stages,
    soak_length,
)
from schedules.services.annealing import COOLING_DIFFERENCE, cooling_rate_limit
from studio.services.glass import Glass
from studio.services.units import rate_to_celsius

GLASS = Glass()


class Row(NamedTuple):
    millimetres: float
    soak: float
    """h"""
    first_rate: float
    """°C/h"""
    total: float | None = None
    """h"""


# Annealing schedule for casting crystal, gafferglass.com (read): inches and °F/h there. Soak at
# 430 °C; first stage to 360 °C (340 from 2.5 in), the second 50 °C further, the third to 21 °C;
# the later rates are 2 and 6 times the first.
CRYSTAL = [
    Row(25.4 * inches, soak, rate_to_celsius(fahrenheit, "F"), total)
    for inches, soak, fahrenheit, total in (
        (0.5, 2, 120.0, 4.17),
        (0.75, 3, 52.0, 8.0),
        (1.0, 4, 29.0, 13.0),
        (1.5, 6, 13.0, 26.0),
        (2.0, 8, 7.8, 41.5),
        (2.5, 10, 5.2, 65.0),
        (3.0, 12, 3.3, 101.0),
        (4.0, 16, 1.8, 176.0),
        (6.0, 24, 0.9, 384.0),
    )
]
CRYSTAL_DIFFERENCE = 3.62
"""°C from one face, at the diffusivity of float glass."""

# A 90-expansion fusing glass maker's chart. The cooling rates of 12, 19 and 25 mm: read at second
# hand (glasstips.blogspot.com 2011/08 and 2013/08); the rest from memory. Soak at 482 °C, stages
# to 427, 371 and 21 °C. Totals of the first three (computed from the rows themselves).
FUSING = [
    Row(12.0, 2, 55.0, 4.63),
    Row(19.0, 3, 25.0, 8.78),
    Row(25.0, 4, 15.0, 13.63),
    Row(38.0, 6, 6.7),
    Row(50.0, 8, 3.8),
    Row(62.0, 10, 2.4),
    Row(75.0, 12, 1.7),
    Row(100.0, 16, 0.94),
    Row(150.0, 24, 0.42),
    Row(200.0, 32, 0.24),
]


def from_19_mm(rows):
    return [row for row in rows if row.millimetres >= 19.0]


def crystal_total(row: Row, difference: float = CRYSTAL_DIFFERENCE) -> float:
    first_drop = 70.0 if row.millimetres < 63.0 else 90.0
    stages = cooling_stages(
        row.millimetres / 1000.0,
        GLASS,
        430.0,
        temperature_difference=difference,
        rule=StageRule(first_drop, below_strain=0.0, second_drop=50.0, second=2.0, third=6.0),
    )
    return hours(stages, row)


def hours(stages: tuple[CoolingStage, ...], row: Row) -> float:
    return (SOAK_PER_METRE * row.millimetres / 1000.0 + sum(s.duration for s in stages)) / 3600.0


@pytest.mark.parametrize("row", from_19_mm(FUSING))
def test_first_cooling_of_the_fusing_chart(row):
    rate = cooling_rate_limit(row.millimetres / 1000.0, GLASS)
    assert rate == pytest.approx(row.first_rate, rel=0.15)


@pytest.mark.parametrize("row", from_19_mm(CRYSTAL))
def test_first_cooling_of_the_crystal_table(row):
    rate = cooling_rate_limit(
        row.millimetres / 1000.0, GLASS, temperature_difference=CRYSTAL_DIFFERENCE
    )
    assert rate == pytest.approx(row.first_rate, rel=0.15)


def test_one_difference_serves_both_tables_rates():
    # 3.36 °C from one face lies within 15 % of every first rate of either from 19 mm up.
    for row in from_19_mm(FUSING) + from_19_mm(CRYSTAL):
        rate = cooling_rate_limit(row.millimetres / 1000.0, GLASS, temperature_difference=3.36)
        assert rate == pytest.approx(row.first_rate, rel=0.15)


@pytest.mark.parametrize("row", [row for row in from_19_mm(FUSING) if row.total])
def test_whole_anneal_of_the_fusing_chart(row):
    glass = Glass(493.0, 532.0, 677.0)
    stages = cooling_stages(row.millimetres / 1000.0, glass, 482.0)
    assert [round(stage.end) for stage in stages] == [427, 371, 21]
    assert hours(stages, row) == pytest.approx(row.total, rel=0.05)


@pytest.mark.parametrize("row", [row for row in from_19_mm(CRYSTAL) if row.millimetres < 63.0])
def test_whole_anneal_of_the_crystal_table(row):
    assert crystal_total(row) == pytest.approx(row.total, rel=0.05)


@pytest.mark.parametrize("row", [row for row in CRYSTAL if row.millimetres > 63.0])
def test_whole_anneal_of_the_crystal_table_s_thickest_rows(row):
    # No one difference brings all of them within 5 %: at this one, which is best, the 2.5 in row
    # comes out 5.7 % long and the 6 in row 5.7 % short. The table itself stretches so: its rates
    # over thickness squared scatter by 6 % either way, and the 6 in row's total is 10 % more than
    # its own rates, printed to one figure, come to.
    assert crystal_total(row) == pytest.approx(row.total, rel=0.058)


def test_no_other_difference_serves_the_crystal_table_s_totals_better():
    rows = from_19_mm(CRYSTAL)

    def worst(difference: float) -> float:
        return max(abs(crystal_total(row, difference) / row.total - 1) for row in rows)

    best = min(np.linspace(3.0, 4.5, 151), key=worst)
    assert best == pytest.approx(CRYSTAL_DIFFERENCE, abs=0.011)
    assert worst(best) > 0.05


def test_thin_rows_are_more_cautious_in_one_chart_and_not_in_the_other():
    # Below 19 mm conduction is not what limits: the fusing chart cools 12 mm a sixth slower than
    # its own thicker rows would have it, the crystal table keeps to its line.
    thin = FUSING[0]
    assert 1.1 < cooling_rate_limit(0.012, GLASS) / thin.first_rate < 1.25
    assert cooling_rate_limit(
        0.0127, GLASS, temperature_difference=CRYSTAL_DIFFERENCE
    ) == pytest.approx(CRYSTAL[0].first_rate, rel=0.05)


@pytest.mark.parametrize("row", CRYSTAL)
def test_soak_of_the_crystal_table(row):
    crystal = Glass(408.0, 440.0, 582.0)
    soak = soak_length(row.millimetres / 1000.0, crystal, 430.0)
    assert soak.practice / 3600.0 == pytest.approx(row.soak)
    if row.millimetres <= 102.0:
        # The calculation agrees that these soaks are long enough, at 4 in to 3 %. At 6 in it asks
        # for more: it takes the slab to arrive with a steady difference, of over 2000 °C there.
        assert soak.needed / 3600.0 == pytest.approx(row.soak, rel=0.03)


def test_default_difference_is_the_fusing_chart_s():
    # R1·d² = 9420 °C·mm²/h from 19 mm up, with 2 % spread (computed from the chart).
    assert cooling_rate_limit(0.001, GLASS) == pytest.approx(9420.0, rel=0.01)
    assert COOLING_DIFFERENCE == 3.1
