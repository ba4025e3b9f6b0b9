from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from schedules.services.difference import FieldChange, difference
from schedules.services.writing import WrittenSegment


def written(rate: int | None, target: int, hold: int = 0) -> WrittenSegment:
    return WrittenSegment(None if rate is None else Decimal(rate), Decimal(target), Decimal(hold))


FUSE = [written(150, 540), written(300, 677, 30), written(330, 804, 10), written(None, 482, 60)]


def kinds(older: list[WrittenSegment], newer: list[WrittenSegment]) -> list[str]:
    return [line.kind for line in difference(older, newer)]


def test_one_changed_number_is_one_changed_field() -> None:
    newer = [*FUSE[:2], written(330, 804, 14), FUSE[3]]
    lines = difference(FUSE, newer)
    assert [line.kind for line in lines] == ["same", "same", "changed", "same"]
    assert lines[2].fields == (FieldChange("hold_minutes", Decimal(10), Decimal(14)),)
    assert (lines[2].older_index, lines[2].newer_index) == (2, 2)


def test_segment_put_between_leaves_the_others_the_same() -> None:
    newer = [*FUSE[:1], written(100, 600, 20), *FUSE[1:]]
    lines = difference(FUSE, newer)
    assert [line.kind for line in lines] == ["same", "added", "same", "same", "same"]
    assert (lines[2].older_index, lines[2].newer_index) == (1, 2)


def test_segment_left_out_is_removed() -> None:
    assert kinds(FUSE, [*FUSE[:1], *FUSE[2:]]) == ["same", "removed", "same", "same"]


def test_full_power_in_place_of_a_rate_is_a_changed_rate() -> None:
    [line] = difference([written(300, 804)], [written(None, 804)])
    assert line.fields == (FieldChange("rate", Decimal(300), None),)


def test_segments_with_nothing_in_common_are_removed_and_added() -> None:
    assert sorted(kinds([written(150, 300, 5)], [written(60, 800, 40)])) == ["added", "removed"]


def test_an_empty_side() -> None:
    assert kinds([], FUSE[:2]) == ["added", "added"]
    assert kinds(FUSE[:2], []) == ["removed", "removed"]
    assert kinds([], []) == []


segments = st.lists(
    st.builds(
        written,
        st.none() | st.integers(1, 999),
        st.integers(30, 950),
        st.integers(0, 120),
    ),
    max_size=7,
)


@given(segments, segments)
def test_every_segment_stands_in_the_difference_once_and_in_order(
    older: list[WrittenSegment], newer: list[WrittenSegment]
) -> None:
    lines = difference(older, newer)
    assert [line.older for line in lines if line.older] == older
    assert [line.newer for line in lines if line.newer] == newer
    assert all((line.kind == "changed") == bool(line.fields) for line in lines)


@given(segments)
def test_a_revision_differs_from_itself_by_nothing(same: list[WrittenSegment]) -> None:
    assert all(line.kind == "same" for line in difference(same, same))
