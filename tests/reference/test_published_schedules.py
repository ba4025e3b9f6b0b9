"""A check raises no false alarm: the makers' own annealing, for their thickness, in three kilns."""

import pytest

from schedules.services.checks import KilnLimits, Load, check
from schedules.services.curve import Segment
from schedules.services.practice import heating_rate_of_practice
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse
from tests.reference.test_annealing_tables import CRYSTAL, FUSING, Row

KILNS = [
    KilnLimits(930.0, resolution=0.1, response=KilnResponse(limit, heating, cooling))
    for limit, heating, cooling in (
        (1180.0, 4100.0, 12200.0),
        (1240.0, 3200.0, 7900.0),
        (1060.0, 5400.0, 20000.0),
    )
]
# Strain, annealing and softening points of a fusing and of a casting glass: invented, near what
# such glasses have; their expansions, 90 and 104 × 10⁻⁷/K.
FUSING_GLASS = Glass(493.0, 532.0, 677.0, expansion=9.0e-6)
CRYSTAL_GLASS = Glass(408.0, 440.0, 582.0, expansion=10.4e-6)
# 6 mm at 83, 150 and 330 °C/h after an hour: common practice, no source.
SIX_MM = Row(6.0, 1, 83.0)
# The chart's last row, 200 mm, is left out: its 32 hours do not even out a slab that cools from one
# face, as a check takes it to be cautious. No schedule on record is for more than 100 mm.
FUSING_ROWS = [SIX_MM, *(row for row in FUSING if row.millimetres < 200.0)]


def above_a_note(segments, process, load, kiln):
    return [each.code for each in check(segments, process, load, kiln) if each.severity != "note"]


@pytest.mark.parametrize("kiln", KILNS)
@pytest.mark.parametrize("row", FUSING_ROWS, ids=lambda row: f"{row.millimetres} mm")
def test_fusing_chart_passes(row, kiln):
    thickness = row.millimetres / 1000.0
    second, third = {6.0: (150.0, 330.0), 12.0: (99.0, 330.0)}.get(
        row.millimetres, (1.8 * row.first_rate, 6 * row.first_rate)
    )
    segments = [
        Segment(heating_rate_of_practice(thickness, "full_fuse"), 540.0),
        Segment(150.0, 670.0, 1800.0),
        Segment(300.0, 804.0, 600.0),
        Segment(None, 482.0, 3600.0 * row.soak),
        Segment(row.first_rate, 427.0),
        Segment(second, 371.0),
        Segment(third, 60.0),
    ]
    load = Load(FUSING_GLASS, thickest=thickness, thinnest=thickness)
    assert above_a_note(segments, "full_fuse", load, kiln) == []


@pytest.mark.parametrize("kiln", KILNS)
@pytest.mark.parametrize("row", CRYSTAL, ids=lambda row: f"{row.millimetres} mm")
def test_crystal_table_passes(row, kiln):
    thickness = row.millimetres / 1000.0
    first = 360.0 if row.millimetres < 63.0 else 340.0
    segments = [
        Segment(60.0, 560.0, 1800.0),
        Segment(120.0, 792.0, 5400.0),
        Segment(None, 430.0, 3600.0 * row.soak),
        Segment(row.first_rate, first),
        Segment(2 * row.first_rate, first - 50.0),
        Segment(6 * row.first_rate, 60.0),
    ]
    load = Load(CRYSTAL_GLASS, thickest=thickness, thinnest=thickness, layers=1)
    assert above_a_note(segments, "cast", load, kiln) == []
