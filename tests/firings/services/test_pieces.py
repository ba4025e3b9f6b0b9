import pytest
from hypothesis import given
from hypothesis import strategies as st

from firings.services.evidence import (
    FULL_RECORDING_UNCERTAINTY,
    PEAK_AND_DURATION_UNCERTAINTY,
    PLAN_ONLY_UNCERTAINTY,
    heat_work_uncertainty,
)
from firings.services.pieces import JudgedPiece, combine_faults, combine_pieces


def test_nothing_judged_is_no_verdict():
    assert combine_pieces([]) is None
    assert combine_pieces([JudgedPiece(verdict=None, served=True)]) is None


@pytest.mark.parametrize(
    ("decides", "other"),
    [
        (JudgedPiece(verdict=1, served=True), JudgedPiece(verdict=-1, by_instructor=True)),
        (JudgedPiece(verdict=1, by_instructor=True), JudgedPiece(verdict=-1)),
        (
            JudgedPiece(verdict=1, by_instructor=True),
            JudgedPiece(verdict=-1, at_reference_place=True),
        ),
        (JudgedPiece(verdict=1, at_reference_place=True), JudgedPiece(verdict=-1)),
        (JudgedPiece(verdict=1), JudgedPiece(verdict=None, served=True)),
    ],
)
def test_who_decides(decides, other):
    assert combine_pieces([other, decides]).verdict == 1


@pytest.mark.parametrize(
    ("verdicts", "middle"),
    [([-1, 0, 2], 0), ([0, 1], 0), ([-1, 0], 0), ([1, 2], 1), ([-2, -1], -1), ([2, 2, 2], 2)],
)
def test_equals_give_their_median_nearer_to_as_wanted(verdicts, middle):
    assert combine_pieces([JudgedPiece(verdict=verdict) for verdict in verdicts]).verdict == middle


def test_the_served_piece_at_the_reference_place_adds_no_doubt():
    sure = combine_pieces([JudgedPiece(verdict=0, served=True, at_reference_place=True)])
    elsewhere = combine_pieces([JudgedPiece(verdict=0, served=True)])
    other = combine_pieces([JudgedPiece(verdict=0)])
    assert sure.uncertainty == 0
    assert 0 < elsewhere.uncertainty < other.uncertainty


def test_place_is_told_only_where_the_deciding_pieces_agree():
    left, right = JudgedPiece(verdict=0, place="left"), JudgedPiece(verdict=0, place="right")
    assert combine_pieces([left, left]).place == "left"
    assert combine_pieces([left, right]).place is None


def test_faults_of_pieces_that_nobody_judged_are_still_seen():
    pieces = [JudgedPiece(verdict=None, faults=("stuck", "split")), JudgedPiece(verdict=None)]
    assert combine_faults(pieces) == ("stuck", "split")


@given(st.lists(st.builds(JudgedPiece, verdict=st.none() | st.integers(-2, 2)), max_size=9))
def test_a_combined_verdict_lies_among_those_given(pieces):
    judged = [piece.verdict for piece in pieces if piece.verdict is not None]
    combined = combine_pieces(pieces)
    assert (combined is None) == (not judged)
    if combined:
        assert min(judged) <= combined.verdict <= max(judged)


def test_the_more_was_recorded_the_surer_is_the_heat_work():
    assert FULL_RECORDING_UNCERTAINTY < PEAK_AND_DURATION_UNCERTAINTY < PLAN_ONLY_UNCERTAINTY
    with pytest.raises(ValueError, match="plan_only"):
        heat_work_uncertainty("guess")


def load_of(*pieces):
    return [JudgedPiece(verdict=verdict, mass=mass) for verdict, mass in pieces]


def test_masses_far_apart_show_where_pieces_came_out_unlike():
    combined = combine_pieces(load_of((0, 0.2), (-1, 1.2)))
    assert combined.mass_ratio == pytest.approx(6.0)


def test_masses_far_apart_are_no_matter_where_all_came_out_alike():
    assert combine_pieces(load_of((-1, 0.2), (-1, 1.2))).mass_ratio is None


def test_an_unjudged_piece_beside_one_that_missed_leaves_it_open():
    assert combine_pieces(load_of((None, 0.2), (-1, 1.2))).mass_ratio == pytest.approx(6.0)
    assert combine_pieces(load_of((None, 0.2), (0, 1.2))).mass_ratio is None


def test_like_or_unknown_masses_set_nothing_apart():
    assert combine_pieces(load_of((0, 0.5), (-1, 1.2))).mass_ratio is None
    assert combine_pieces(load_of((0, None), (-1, 1.2))).mass_ratio is None
