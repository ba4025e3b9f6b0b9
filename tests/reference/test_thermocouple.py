"""Tolerances against the standards' figures (IEC 60584-1, ASTM E230; read)."""

import pytest

from studio.services.thermocouple import tolerance

# Type, class, °C, ± °C: the fixed figure at a low, the share at a high temperature.
PUBLISHED = [
    ("K", "IEC 1", 200.0, 1.5),
    ("N", "IEC 1", 1000.0, 4.0),  # 0.4 %
    ("K", "IEC 2", 200.0, 2.5),
    ("N", "IEC 2", 1000.0, 7.5),  # 0.75 %
    ("R", "IEC 1", 1100.0, 1.0),
    ("S", "IEC 1", 200.0, 1.0),
    ("S", "IEC 2", 200.0, 1.5),
    ("R", "IEC 2", 1000.0, 2.5),  # 0.25 %
    ("K", "ASTM standard", 200.0, 2.2),
    ("N", "ASTM standard", 1000.0, 7.5),  # 0.75 %
    ("K", "ASTM special", 200.0, 1.1),
    ("N", "ASTM special", 1000.0, 4.0),  # 0.4 %
    ("R", "ASTM standard", 200.0, 1.5),
    ("S", "ASTM standard", 1000.0, 2.5),  # 0.25 %
    ("S", "ASTM special", 200.0, 0.6),
    ("R", "ASTM special", 1000.0, 1.0),  # 0.1 %
]


@pytest.mark.parametrize(("kind", "tolerance_class", "temperature", "published"), PUBLISHED)
def test_tolerance_is_the_standard_s(kind, tolerance_class, temperature, published):
    assert tolerance(temperature, kind, tolerance_class) == pytest.approx(published, abs=1e-9)


def test_tolerance_at_a_full_fuse():
    # Computed: 0.4 % and 0.75 % of 804 °C.
    assert tolerance(804.0, "K", "IEC 1") == pytest.approx(3.2, abs=0.05)
    assert tolerance(804.0, "K", "IEC 2") == pytest.approx(6.0, abs=0.05)
