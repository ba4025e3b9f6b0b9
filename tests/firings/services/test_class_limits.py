import pytest

from firings.services.class_limits import ClassLimits, nearest_refusal

WREN_ONLY = ClassLimits("Beginners", kilns=frozenset({"Wren"}), highest=810.0)
TACK_ONLY = ClassLimits("Tack", schedules=frozenset({7, 8}))


@pytest.mark.parametrize(
    ("plan", "refused"),
    [
        (("Wren", 1, 804.0), ()),
        (("Wren", 1, 810.0), ()),
        (("Wren", 1, 811.0), ("temperature",)),
        (("Heron", 1, 830.0), ("kiln", "temperature")),
    ],
)
def test_what_a_class_refuses(plan: tuple[str, int, float], refused: tuple[str, ...]) -> None:
    assert WREN_ONLY.refused(*plan) == refused


def test_a_class_that_names_nothing_allows_everything() -> None:
    assert ClassLimits("Open").refused("Heron", 3, 1200.0) == ()


def test_one_class_that_allows_all_of_it_is_enough() -> None:
    classes = [WREN_ONLY, TACK_ONLY]
    assert nearest_refusal(classes, kiln="Heron", schedule=7, peak=900.0) is None
    assert nearest_refusal(classes, kiln="Wren", schedule=1, peak=800.0) is None


def test_two_classes_dont_add_up() -> None:
    """The kiln of one with the schedule of the other is nobody's plan."""
    found = nearest_refusal([WREN_ONLY, TACK_ONLY], kiln="Heron", schedule=1, peak=900.0)
    assert found == (TACK_ONLY, ("schedule",))


def test_nobody_bounds_whoever_is_in_no_class() -> None:
    assert nearest_refusal([], kiln="Heron", schedule=1, peak=1200.0) is None
