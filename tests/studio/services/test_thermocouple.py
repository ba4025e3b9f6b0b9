import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio.services.thermocouple import CLASSES, TYPES, tolerance


def test_the_greater_of_the_two_figures_counts():
    # Class 2 of type K: 0.75 % passes 2.5 °C at 333.3 °C.
    assert tolerance(300.0, "K", "IEC 2") == 2.5
    assert tolerance(400.0, "K", "IEC 2") == pytest.approx(3.0)


def test_array_keeps_its_shape():
    assert tolerance([20.0, 1000.0], "K", "IEC 1").tolist() == pytest.approx([1.5, 4.0])


@pytest.mark.parametrize(
    ("temperature", "kind", "tolerance_class", "word"),
    [
        (804.0, "Z", "IEC 1", "type"),
        (804.0, "K", "IEC 3", "class"),
        (1101.0, "S", "IEC 1", "0 to 1100"),
        (1001.0, "K", "IEC 1", "-40 to 1000"),
        (float("nan"), "K", "IEC 1", "holds from"),
    ],
)
def test_unknown_is_refused(temperature, kind, tolerance_class, word):
    with pytest.raises(ValueError, match=word):
        tolerance(temperature, kind, tolerance_class)


@given(st.floats(0.0, 999.0), st.sampled_from(TYPES), st.sampled_from(CLASSES))
def test_tolerance_never_shrinks_with_heat(temperature, kind, tolerance_class):
    here = tolerance(temperature, kind, tolerance_class)
    assert 0 < here <= tolerance(temperature + 1, kind, tolerance_class)
