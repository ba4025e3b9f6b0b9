"""Numbers as a controller takes them; each expected one is worked by hand beside it."""

from dataclasses import replace
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from schedules.services.keying import Card, Controller, key_in
from schedules.services.writing import WrittenSegment

FUSE = [
    WrittenSegment(Decimal(150), Decimal(540)),
    WrittenSegment(Decimal(330), Decimal(804), Decimal(10)),
    WrittenSegment(None, Decimal(482), Decimal(90)),
    WrittenSegment(Decimal("6.7"), Decimal(427)),
]


def keyed(card: Card) -> list[list[str]]:
    return [[entry.keyed for entry in line.entries] for line in card.lines]


def test_as_written_where_the_controller_takes_all() -> None:
    controller = Controller(8, step=Decimal("0.1"), full_power="9999")
    card = key_in(FUSE, "C", controller)

    assert keyed(card) == [
        ["150", "540", "0"],
        ["330", "804", "10"],
        ["9999", "482", "90"],
        ["6.7", "427", "0"],
    ]
    assert all(entry.exact is None for line in card.lines for entry in line.entries)
    assert card.fits


def test_order_of_fields_and_format_of_holds_are_the_controllers() -> None:
    controller = Controller(8, order=("target", "hold", "ramp"), hold_format="h:mm")
    assert keyed(key_in(FUSE, "C", controller))[2] == ["482", "1:30", ""]


def test_too_fine_a_rate_is_said_with_the_nearest() -> None:
    rate = key_in(FUSE, "C", Controller(8)).lines[3].entries[0]
    assert (rate.keyed, rate.exact) == ("7", Decimal("6.7"))


def test_a_rate_is_carried_as_a_difference() -> None:
    card = key_in([WrittenSegment(Decimal(300), Decimal(1480))], "F", Controller(8, "C"))
    assert keyed(card) == [["167", "804", "0"]]


def test_time_to_target_from_the_target_before_rounded_up() -> None:
    controller = Controller(8, takes_times=True, hold_format="h.mm", full_power="0.00")
    ramps = [line.entries[0] for line in key_in(FUSE, "C", controller).lines]
    # (540 − 20)/150 h are 208 min; (804 − 540)/330 h are exactly 48; 55/6.7 h are 492.5 min, and
    # the rate that is keyed, 7, would be quicker: the written 6.7 counts.
    assert [each.keyed for each in ramps] == ["3.28", "0.48", "0.00", "8.13"]
    assert ramps[3].exact is not None
    assert abs(ramps[3].exact - Decimal("492.537")) < Decimal("0.001")


def test_a_hold_too_long_goes_on_in_parts() -> None:
    card = key_in(FUSE, "C", Controller(4, longest=60, full_power="F"))
    assert keyed(card)[2:4] == [["F", "482", "60"], ["F", "482", "30"]]
    assert [(line.part, line.part_number, line.parts) for line in card.lines[2:4]] == [
        ("hold", 1, 2),
        ("hold", 2, 2),
    ]
    assert not card.fits


def test_a_time_too_long_goes_on_in_parts_that_are_no_faster() -> None:
    slow = [WrittenSegment(Decimal(10), Decimal(540))]
    card = key_in(slow, "C", Controller(20, takes_times=True, longest=600))
    # 520/10 h are 3120 min: six parts of 86.67°, which whole targets make 87, 86, 87, …
    assert len(card.lines) == 6
    assert [line.entries[0].value for line in card.lines] == [522, 516, 522, 522, 516, 522]
    assert card.lines[-1].entries[1].keyed == "540"
    assert card.lines[0].entries[1].keyed == "107"  # 20 + 86.67


def test_no_segments_make_an_empty_card() -> None:
    assert key_in([], "C", Controller(8)).lines == ()


segments = st.lists(
    st.builds(
        WrittenSegment,
        st.decimals(5, 900, places=1),
        st.decimals(40, 900, places=1),
        st.integers(0, 900).map(Decimal),
    ),
    min_size=1,
    max_size=6,
)


@given(segments, st.sampled_from([None, 99, 240, 599]), st.sampled_from(["0.1", "1", "5"]))
def test_times_are_never_faster_than_written_and_holds_add_up(
    written: list[WrittenSegment], longest: int | None, step: str
) -> None:
    controller = Controller(200, takes_times=True, longest=longest, step=Decimal(step))
    card = key_in(written, "C", controller)

    before = Decimal(20)
    for position, one in enumerate(written, start=1):
        lines = [line for line in card.lines if line.position == position]
        values = [{entry.field: entry.value for entry in line.entries} for line in lines]
        assert sum(each["hold"] or 0 for each in values) == one.hold_minutes
        for each in values:
            distance, minutes = abs((each["target"] or 0) - before), each["ramp"] or 0
            assert distance * 60 <= (one.rate or 0) * minutes + Decimal("1e-6")
            assert longest is None or max(minutes, each["hold"] or 0) <= longest
            before = each["target"] or before


def test_lines_are_numbered_as_the_controller_counts() -> None:
    card = key_in(FUSE, "C", replace(Controller(8), longest=60))
    assert [(line.number, line.position) for line in card.lines] == [
        (1, 1), (2, 2), (3, 3), (4, 3), (5, 4),
    ]  # fmt: skip
