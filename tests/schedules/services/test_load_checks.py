"""What a check says of a load: its glasses, its mould, and when its kiln may be opened."""

from dataclasses import replace

import pytest

from schedules.services.checks import KilnLimits, Load, check, check_piece
from schedules.services.curve import Segment
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse

GLASS = Glass(493.0, 532.0, 677.0, expansion=9e-6)
KILN = KilnLimits(930.0, 12, 1.0, (0.6, 0.5, 0.25), KilnResponse(1180.0, 4115.0, 12240.0))
LOAD = Load(GLASS, thickest=0.006, thinnest=0.006, width=0.2, length=0.3)
ANNEAL = (Segment(None, 482.0, 3600.0), Segment(83.0, 427.0), Segment(150.0, 371.0))
FUSE = (
    Segment(150.0, 540.0),
    Segment(100.0, 670.0, 1800.0),
    Segment(300.0, 804.0, 600.0),
    *ANNEAL,
)
SHAPE = (Segment(150.0, 540.0), Segment(100.0, 660.0, 900.0), *ANNEAL)
CAST = (Segment(60.0, 560.0), Segment(60.0, 860.0, 5400.0), *ANNEAL)
SEGMENTS = {"full_fuse": FUSE, "slump": SHAPE, "drape": SHAPE, "cast": CAST, "tack_fuse": FUSE}

NOTHING = frozenset[str]()
SULPHUR, COPPER, LEAD, SILVER = (
    frozenset([each]) for each in ("sulphur", "copper", "lead", "silver")
)


def codes(load, process="full_fuse", segments=None, kiln=KILN):
    return {
        remark.code: remark.severity
        for remark in check_piece(segments or SEGMENTS[process], process, load, kiln)
    }


@pytest.mark.parametrize(
    ("chemistries", "expected"),
    [
        ((SULPHUR, COPPER), {"sulphur_meets_copper"}),
        ((LEAD, NOTHING, SULPHUR), {"sulphur_meets_lead"}),
        ((SULPHUR, COPPER | LEAD), {"sulphur_meets_copper", "sulphur_meets_lead"}),
        ((SULPHUR | COPPER, SULPHUR), {"sulphur_meets_copper"}),
        ((SILVER, SULPHUR), {"sulphur_meets_silver"}),
        ((COPPER, LEAD, SILVER), set()),
        ((SULPHUR, SULPHUR), set()),
        ((NOTHING, NOTHING), set()),
        ((), set()),
        # What one glass carries by itself was melted so.
        ((SULPHUR | COPPER,), set()),
        ((SULPHUR | COPPER, NOTHING), set()),
    ],
)
def test_colours_that_react_where_they_touch(chemistries, expected):
    assert set(codes(replace(LOAD, chemistries=chemistries))) == expected


def test_reactions_are_warned_of():
    assert codes(replace(LOAD, chemistries=(SULPHUR, COPPER))) == {"sulphur_meets_copper": "warn"}


def test_a_colour_that_strikes_is_noted():
    assert codes(replace(LOAD, strikers=1)) == {"colour_strikes": "note"}
    assert codes(replace(LOAD, strikers=1), "anneal_only", ANNEAL) == {}


def test_families_are_mixed_only_to_test_them():
    mixed = replace(LOAD, families=("one", "another"))
    assert codes(mixed) == {"families_mixed": "block"}
    assert codes(replace(mixed, is_fit_test=True)) == {"families_tested": "note"}


def test_glass_that_stays_stiff_does_not_react():
    assert codes(replace(LOAD, chemistries=(SULPHUR, COPPER)), "anneal_only", ANNEAL) == {}


@pytest.mark.parametrize(
    ("process", "mould", "expected"),
    [
        ("slump", "shelf", {"no_mould_to_shape": "warn"}),
        ("drape", "shelf", {"no_mould_to_shape": "warn"}),
        ("cast", "shelf", {"casting_without_mould": "note"}),
        ("cast", "steel", {"casting_in_steel": "warn", "steel_too_hot": "warn"}),
        ("cast", "ceramic", {"casting_in_ceramic": "note"}),
        ("slump", "steel", {"slump_in_steel": "note"}),
        ("drape", "ceramic", {"drape_over_ceramic": "warn"}),
        ("full_fuse", "ceramic", {"fuse_in_mould": "warn"}),
        ("full_fuse", "steel", {"fuse_in_mould": "warn", "steel_too_hot": "warn"}),
        ("tack_fuse", "ceramic", {"fuse_in_mould": "note"}),
        ("slump", "ceramic", {}),
        ("drape", "steel", {}),
        ("slump", "fibre", {}),
        ("full_fuse", "shelf", {}),
        ("full_fuse", "fibre", {}),
        ("drape", "", {}),
        ("cast", "", {}),
    ],
)
def test_mould_and_process(process, mould, expected):
    assert codes(replace(LOAD, mould=mould), process) == expected


def test_plaster_is_held_to_the_heat_of_the_glass():
    load, hot = replace(LOAD, mould="plaster_silica"), replace(KILN, offset=20.0)
    dried = (Segment(60.0, 200.0, 7200.0), *CAST)
    assert codes(load, "cast", dried) == {}
    [remark] = check_piece(dried, "cast", load, hot)
    assert (remark.code, remark.segment, remark.figure) == ("plaster_too_hot", 2, 880.0)
    assert (remark.limit, remark.remedy.value) == (870.0, 850.0)


def test_plaster_wants_time_to_dry():
    load = replace(LOAD, mould="plaster_silica")
    quick = (Segment(300.0, 560.0), *CAST[1:])
    [remark] = check_piece(quick, "cast", load, KILN)
    assert (remark.code, remark.severity) == ("mould_not_dried", "note")
    # From 90 to 300 °C at 300 °C/h.
    assert remark.figure == pytest.approx(0.7 * 3600.0, abs=1.0)


def test_rules_of_the_load_are_part_of_the_whole_check():
    load = replace(LOAD, mould="steel", chemistries=(SULPHUR, LEAD), families=("one", "another"))
    found = [remark.code for remark in check(FUSE, "full_fuse", load, KILN)]
    assert found[0] == "families_mixed"
    assert {"fuse_in_mould", "steel_too_hot", "sulphur_meets_lead"} <= set(found)


def opening_remark(load, **planned):
    found = check(FUSE, "full_fuse", load, planned.pop("kiln", KILN), **planned)
    return next((remark for remark in found if remark.code == "opening_hot"), None)


def test_thin_piece_may_be_opened_where_practice_opens():
    assert opening_remark(LOAD) is None
    remark = opening_remark(LOAD, opening=180.0)
    assert (remark.severity, remark.figure, remark.limit) == ("note", 180.0, 150.0)


def test_thick_piece_is_opened_cooler_and_the_offset_counts():
    block = replace(LOAD, thickest=0.1, thinnest=0.1)
    limit = opening_remark(block, opening=120.0).limit
    assert 60.0 < limit < 90.0
    assert opening_remark(block, opening=limit - 1.0) is None
    hot = replace(KILN, offset=10.0)
    assert opening_remark(block, opening=limit - 1.0, kiln=hot).figure == pytest.approx(limit + 9.0)


def test_opening_is_not_asked_of_metal_clay():
    clay = [Segment(400.0, 900.0, 7200.0)]
    assert check(clay, "metal_clay", LOAD, KILN, opening=400.0) == []


def test_kiln_that_falls_fast_by_itself_pulls_a_thick_piece_past_its_strength():
    block = replace(LOAD, thickest=0.05, thinnest=0.05)
    slow = (*FUSE[:3], Segment(None, 482.0, 8 * 3600.0), Segment(3.5, 427.0))
    light = replace(KILN, response=KilnResponse(1180.0, 4115.0, 5000.0))
    remarks = {each.code: each for each in check(slow, "full_fuse", block, light)}
    remark = remarks["tension_above_strength"]
    assert remark.segment is None  # after the last one, when the controller has switched off
    assert remark.figure > remark.limit == 15.0
    heavy = replace(KILN, response=KilnResponse(1180.0, 4115.0, 200_000.0))
    assert "tension_above_strength" not in {
        each.code for each in check(slow, "full_fuse", block, heavy) if each.segment is None
    }
