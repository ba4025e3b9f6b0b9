"""What a piece is after what was done to it: glass is neither made nor lost.

That sheets of a full fuse are one piece of their whole thickness, that a tack keeps its relief, and
that glass which flows goes to 6 to 7 mm, are common practice, no source.
"""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firings.services.piece_now import PieceNow, Work, after, cut_fits, piece_now

FOUR_SHEETS = PieceNow(thickest=12.0, thinnest=12.0, layers=4, length=200.0, width=200.0)


def test_four_sheets_fused_are_one_piece() -> None:
    now = after(FOUR_SHEETS, Work(process="full_fuse", key="firing 7"))
    assert (now.layers, now.thickest, now.thinnest) == (1, 12.0, 12.0)
    assert (now.one_piece_since, now.thickness_from) == ("firing 7", "by_volume")
    assert now.remarks == ("would_spread",)


def test_a_spread_fuse_is_thinner_by_its_volume() -> None:
    # 200 × 200 × 12 mm = 480 000 mm³; on 250 × 240 mm that is 8 mm.
    now = after(
        FOUR_SHEETS, Work(process="full_fuse", key=1, length_after=250.0, width_after=240.0)
    )
    assert now.thickest == pytest.approx(8.0)
    assert (now.length, now.width, now.remarks) == (250.0, 240.0, ())


def test_a_drawn_in_single_sheet_is_thicker_by_its_volume() -> None:
    # 100 × 100 × 3 mm drawn in to 90 × 90 mm: 3 × 10 000 / 8 100 = 3.70 mm.
    sheet = PieceNow(thickest=3.0, thinnest=3.0, length=100.0, width=100.0)
    work = Work(process="full_fuse", length_after=90.0, width_after=90.0)
    assert after(sheet, work).thickest == pytest.approx(3.7037, abs=1e-4)
    assert after(sheet, Work(process="full_fuse")).remarks == ("would_draw_in",)


def test_measured_thickness_stands_before_the_volume() -> None:
    work = Work(process="full_fuse", length_after=250.0, width_after=240.0, thickness_after=8.4)
    now = after(FOUR_SHEETS, work)
    assert (now.thickest, now.thinnest, now.thickness_from) == (8.4, 8.4, "measured")
    assert now.remarks == ()
    # 9.3 mm on 250 × 240 is 558 000 mm³, 1.16 times what was laid up.
    assert after(FOUR_SHEETS, replace(work, thickness_after=9.3)).remarks == ("more_than_laid",)


def test_a_tack_keeps_its_relief() -> None:
    # 3 mm of detail on two sheets of 3 mm, nothing said of the base: one sheet is sure.
    laid = PieceNow(thickest=9.0, layers=3, length=150.0, width=150.0)
    now = after(laid, Work(process="tack_fuse", key=1))
    assert (now.layers, now.thickest, now.thinnest) == (1, 9.0, 3.0)
    said = after(replace(laid, thinnest=6.0), Work(process="tack_fuse", thickness_after=8.6))
    assert (said.thickest, said.thinnest) == (8.6, 6.0)


def test_an_uneven_lay_up_levels_out_between_its_bounds() -> None:
    laid = PieceNow(thickest=9.0, thinnest=6.0, layers=3, length=200.0, width=200.0)
    now = after(laid, Work(process="full_fuse", length_after=210.0, width_after=200.0))
    # 9 and 6 mm × 200 / 210 = 8.57 and 5.71 mm.
    assert (now.thickest, now.thinnest) == (
        pytest.approx(8.571, abs=1e-3), pytest.approx(5.714, abs=1e-3),
    )  # fmt: skip
    assert now.remarks == ("uneven_before",)
    assert after(laid, Work(process="cast")).remarks == ()  # as its mould is


def test_a_slump_keeps_the_thickness_though_its_footprint_shrinks() -> None:
    fused = after(FOUR_SHEETS, Work(process="full_fuse", key=1))
    bowl = after(fused, Work(process="slump", key=2, length_after=180.0, width_after=180.0))
    assert (bowl.thickest, bowl.length, bowl.one_piece_since) == (12.0, 180.0, 1)


def test_what_is_cut_keeps_its_thickness_and_when_it_became_one() -> None:
    works = [
        Work(process="full_fuse", key=1, laid=FOUR_SHEETS),
        Work(process="cut", key=2, length_after=150.0, width_after=120.0),
    ]
    now = piece_now(works)
    assert now is not None
    assert (now.length, now.width, now.thickest, now.one_piece_since) == (150.0, 120.0, 12.0, 1)
    more = after(FOUR_SHEETS, Work(process="cut", length_after=240.0, width_after=120.0))
    assert more.remarks == ("larger_than_before",)


def test_ground_down_it_is_as_thick_as_it_was_measured() -> None:
    fused = after(FOUR_SHEETS, Work(process="full_fuse", key=1))
    ground = after(fused, Work(process="coldwork", thickness_after=11.2))
    assert (ground.thickest, ground.thinnest, ground.thickness_from) == (11.2, 11.2, "measured")


def test_what_is_written_down_at_the_next_load_stands_before_what_was_left() -> None:
    works = [
        Work(process="full_fuse", key=1, laid=FOUR_SHEETS),
        Work(process="slump", key=2, laid=PieceNow(thickest=11.5, layers=1, length=205.0)),
    ]
    now = piece_now(works)
    assert now is not None
    assert (now.thickest, now.length, now.width, now.one_piece_since) == (11.5, 205.0, 200.0, 1)


def test_sheets_laid_on_a_fused_piece_are_not_one_with_it() -> None:
    works = [
        Work(process="full_fuse", key=1, laid=FOUR_SHEETS),
        Work(process="slump", key=2, laid=replace(FOUR_SHEETS, thickest=15.0, layers=2)),
    ]
    now = piece_now(works)
    assert now is not None
    assert (now.layers, now.one_piece_since) == (2, None)


def test_stopped_early_it_is_as_it_went_in() -> None:
    now = piece_now([Work(process="stopped", key=1, laid=FOUR_SHEETS)])
    assert now is not None
    assert (now.layers, now.thickest, now.one_piece_since) == (4, 12.0, None)


@pytest.mark.parametrize(
    ("process", "remark"), [("drop_out", "stretched"), ("metal_clay", "shrunk")]
)
def test_what_nobody_can_reckon_is_not_told(process: str, remark: str) -> None:
    now = after(FOUR_SHEETS, Work(process=process))
    assert now.thinnest is None
    assert now.remarks == (remark,)


@pytest.mark.parametrize(
    ("length", "width", "thickest"),
    [(20.0, 20.0, None), (2000.0, 2000.0, None), (100.0, None, 24.0), (None, None, 12.0)],
)
def test_a_thickness_that_no_record_takes_is_unknown(
    length: float | None, width: float | None, thickest: float | None
) -> None:
    # 12 mm on a hundredth of the area would be 1 200 mm; on a hundredfold 0.12 mm.
    now = after(FOUR_SHEETS, Work(process="full_fuse", length_after=length, width_after=width))
    assert now.thickest == thickest
    assert now.layers == 1


def test_nothing_known_stays_unknown() -> None:
    assert piece_now([]) is None
    now = after(PieceNow(layers=3), Work(process="full_fuse", key=1))
    assert (now.thickest, now.layers, now.thickness_from) == (None, 1, "unknown")
    assert cut_fits(PieceNow(), 100.0, 100.0)


mm = st.floats(1.0, 90.0)
side = st.floats(20.0, 900.0)
maybe_side = st.none() | side


@given(
    thickness=mm, base=st.none() | st.floats(0.05, 1.0), layers=st.integers(1, 20),
    length=side, width=side, length_after=maybe_side, width_after=maybe_side,
    process=st.sampled_from(["full_fuse", "cast", "contour_fuse", "tack_fuse"]),
)  # fmt: skip
def test_no_fuse_makes_glass(
    thickness: float, base: float | None, layers: int, process: str, length: float, width: float,
    length_after: float | None, width_after: float | None,
) -> None:  # fmt: skip
    laid = PieceNow(
        thickest=thickness, thinnest=None if base is None else base * thickness, layers=layers,
        length=length, width=width,
    )  # fmt: skip
    work = Work(process=process, length_after=length_after, width_after=width_after)
    now = after(laid, work)
    assert now.layers == 1
    if now.thickest is not None:
        assert now.thinnest is not None
        assert now.thinnest <= now.thickest
        assert _volume(now) <= _volume(laid) * (1 + 1e-9)


@given(cut=st.tuples(side, side), ground=st.floats(0.05, 1.0))
def test_no_work_outside_a_kiln_makes_glass(cut: tuple[float, float], ground: float) -> None:
    before = replace(FOUR_SHEETS, layers=1)
    assert cut_fits(before, *cut) == (max(cut) <= 200.0)
    if cut_fits(before, *cut):
        now = after(before, Work(process="cut", length_after=cut[0], width_after=cut[1]))
        now = after(now, Work(process="coldwork", thickness_after=12.0 * ground))
        assert _volume(now) <= _volume(before)


def _volume(piece: Any) -> float:
    return float(piece.area * piece.thickest)
