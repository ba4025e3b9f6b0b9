import pytest

from firings.services.strips import SagError, Strip


def test_a_sag_is_that_of_the_textbook_bar() -> None:
    """Of a bar 20 mm wide, 3 mm thick, over 60 mm, elastic with E = 3·η and η·∫dt/η = one second.

    A = 0.02 · 0.003 = 6e-5 m², I = b·h³/12 = 0.02 · 2.7e-8/12 = 4.5e-11 m⁴. Load a metre
    q = ρ·g·A = 2500 · 9.80665 · 6e-5 = 1.4710 N/m. Midspan 5·q·L⁴/(384·E·I) with L⁴ = 1.296e-5 m⁴,
    E = 3·η: 5 · 1.4710 · 1.296e-5/(384 · 3 · 4.5e-11 · η) = 9.5321e-5/5.184e-8/η = 1838.8/η m.
    For 3 mm: 1/η = 0.003/1838.8 = 1.6315e-6 1/Pa for each second.
    """
    assert Strip(3.0, 60.0).heat_work(3.0) == pytest.approx(1.6315e-6, rel=1e-4)


def test_a_weightless_load_agrees_with_the_standard_for_beam_bending() -> None:
    """ASTM C598, from memory: η = g·L³/(2.4·I·v) · (M + ρ·A·L/1.6), in cm, g, s, v in cm/min.

    With M = 0, L = 6 cm, ρ = 2.5, A = 0.6 cm², I = 2 · 0.027/12 = 0.0045 cm⁴, g = 980.665 and
    v = 0.1 cm/min: 980.665 · 216/(2.4 · 0.0045 · 0.1) · (2.5 · 0.6 · 6/1.6)
    = 1.96133e8 · 5.625 = 1.10325e9 poise = 1.10325e8 Pa·s. In a minute 1 mm, so
    ∫dt/η = 60/1.10325e8 = 5.4385e-7 1/Pa.
    """
    assert Strip(3.0, 60.0).heat_work(1.0) == pytest.approx(5.4385e-7, rel=1e-4)


@pytest.mark.parametrize("sag", [0.0, 0.9, 6.1, 60.0, -2.0])
def test_what_cannot_be_read_or_hangs_too_deep_is_refused(sag: float) -> None:
    with pytest.raises(SagError):
        Strip(3.0, 60.0).heat_work(sag)


@pytest.mark.parametrize(("thickness", "gap"), [(0.0, 60.0), (3.0, 0.0), (-3.0, 60.0)])
def test_a_strip_without_size_is_refused(thickness: float, gap: float) -> None:
    with pytest.raises(ValueError, match="above 0"):
        Strip(thickness, gap)
