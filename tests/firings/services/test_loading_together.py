"""Which waiting pieces go into one load."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firings.services.loading_together import (
    GAP_MM,
    THICKNESSES_TOGETHER,
    Shelf,
    TogetherLoad,
    Waiting,
    joining,
    loads_together,
    shelf_takes,
)

START = datetime(2026, 3, 2, 9, tzinfo=UTC)
HERON, WREN = Shelf("Heron", 500, 450), Shelf("Wren", 320, 320)


def waits(piece: int, **facts: Any) -> Waiting:
    usual = {"process": "slump", "family": "soft 90", "thickest": 6.0, "length": 200, "width": 200}
    since = facts.pop("since", START + timedelta(hours=piece))
    return Waiting(**{"piece": piece, "since": since} | usual | facts)


def pieces_of(loads: list[TogetherLoad]) -> list[list[object]]:
    return [[one.piece for one in load.pieces] for load in loads]


def test_alike_pieces_go_together() -> None:
    (load,) = loads_together([waits(1), waits(2)], [HERON])
    assert [one.piece for one in load.pieces] == [1, 2]
    assert (load.process, load.family, load.thinnest, load.thickest) == ("slump", "soft 90", 6, 6)


@pytest.mark.parametrize(
    "other", [{"process": "tack_fuse"}, {"family": "float"}, {"thickest": 9.0}, {"thickest": 4.0}]
)
def test_what_does_not_go_together_is_apart(other: dict[str, Any]) -> None:
    assert pieces_of(loads_together([waits(1), waits(2, **other)], [HERON])) == [[1], [2]]


def test_nearly_the_same_thickness_goes_together() -> None:
    assert pieces_of(loads_together([waits(1), waits(2, thickest=8.0)], [HERON])) == [[1, 2]]


def test_a_coaster_and_a_platter_are_fired_apart() -> None:
    small = waits(2, length=90, width=90)
    assert pieces_of(loads_together([waits(1), small], [HERON])) == [[1], [2]]


def test_the_shelf_bounds_the_load_and_the_rest_waits_for_the_next() -> None:
    loads = loads_together([waits(n) for n in range(6)], [HERON])
    assert pieces_of(loads) == [[0, 1, 2, 3], [4, 5]]


def test_whoever_is_wanted_first_leads() -> None:
    soon = waits(9, wanted_by=date(2026, 3, 5))
    loads = loads_together([*(waits(n) for n in range(5)), soon], [HERON])
    assert loads[0].pieces[0].piece == 9
    assert len(loads[0].pieces) == 4


def test_the_kilns_that_take_it_are_told_smallest_first() -> None:
    (load,) = loads_together([waits(1)], [HERON, WREN])
    assert load.kilns == ("Wren", "Heron")
    (load,) = loads_together([waits(1), waits(2)], [HERON, WREN])
    assert load.kilns == ("Heron",)


def test_a_piece_too_large_for_every_kiln_stands_alone_and_says_so() -> None:
    loads = loads_together([waits(1, length=600, width=500), waits(2)], [HERON])
    assert [(load.kilns, len(load.pieces)) for load in loads] == [((), 1), (("Heron",), 1)]


def test_a_piece_without_its_size_is_counted() -> None:
    (load,) = loads_together([waits(1), waits(2, length=None)], [HERON])
    assert (len(load.pieces), load.unsized) == (2, 1)


def test_a_round_chamber_has_less_room() -> None:
    large = waits(1, length=330, width=330)
    assert shelf_takes(Shelf("box", 400, 400), [large])
    assert not shelf_takes(Shelf("round", 400, 400, rectangular=False), [large])


def test_a_long_piece_is_turned() -> None:
    assert shelf_takes(Shelf("narrow", 200, 500), [waits(1, length=150, width=450)])


def test_nobody_waits() -> None:
    assert loads_together([], [HERON]) == []


sides = st.one_of(st.none(), st.floats(20, 600))


@given(
    st.lists(
        st.builds(
            lambda n, process, thick, length, width: waits(
                n, process=process, thickest=thick, length=length, width=width
            ),
            st.integers(0, 99),
            st.sampled_from(["slump", "full_fuse"]),
            st.sampled_from([3.0, 4.0, 6.0, 8.0, 9.0, 12.0]),
            sides,
            sides,
        ),
        max_size=25,
    )
)
def test_every_piece_is_in_one_load_that_keeps_the_rules(waiting: list[Waiting]) -> None:
    loads = loads_together(waiting, [HERON, WREN])
    held = sorted((one.piece for load in loads for one in load.pieces), key=str)
    assert held == sorted((one.piece for one in waiting), key=str)
    for load in loads:
        assert {(one.process, one.family) for one in load.pieces} == {(load.process, load.family)}
        assert load.thickest <= THICKNESSES_TOGETHER * load.thinnest
        if len(load.pieces) > 1:
            assert load.kilns, "a load that no kiln takes is one piece"
        if load.kilns:
            room = sum(
                (one.length + GAP_MM) * (one.width + GAP_MM)
                for one in load.pieces
                if one.length is not None and one.width is not None
            )
            assert room <= HERON.width * HERON.depth


def test_what_joins_a_load_goes_with_each_other_too() -> None:
    thin, thick, late = waits(1, thickest=4.0), waits(2, thickest=12.0), waits(3, thickest=4.0)
    assert joining([], [late, thick, thin], HERON) == [thin, late]
    assert joining([thick], [thin], HERON) == []
    soon = waits(4, wanted_by=date(2026, 3, 5))
    assert joining([], [waits(1), soon], Shelf("small", 250, 250)) == [soon]
    assert joining([waits(1, family="float")], [waits(2)], HERON) == []
    assert joining([waits(n) for n in range(4)], [waits(5)], HERON) == []
