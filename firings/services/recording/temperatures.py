"""The temperature of each line, in °C, without what a broken thermocouple leaves."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firings.services.recording.channels import (
    COLDEST,
    HOTTEST,
    ZERO_BETWEEN,
    Unit,
    guessed_unit,
    noted_unit,
)
from firings.services.recording.layout import Layout
from firings.services.recording.numbers import CELSIUS, FAHRENHEIT, NO_UNIT
from firings.services.recording.series import Floats, RecordingRemark
from studio.services.units import from_celsius, to_celsius


@dataclass(frozen=True)
class LineTemperatures:
    """The temperature of each line.

    Parameters
    ----------
    celsius : °C, shape (n,), NaN where there is none
    unit : in which (most of) the file is written
    remarks : what was guessed
    """

    celsius: Floats
    unit: Unit
    remarks: tuple[RecordingRemark, ...] = ()


def temperatures_of(
    values: Floats,
    codes: NDArray[np.int8] | None,
    layout: Layout,
    unit: Unit | None,
    peak: float | None,
) -> LineTemperatures:
    """Readings as °C; those that no kiln can have are NaN.

    Parameters
    ----------
    values : as written, shape (n,)
    codes : units that stand in the cells or beside them, shape (n,), or None
    layout : names of the columns and what stands above them
    unit : that a person chose, which wins over everything
    peak : °C that was planned, or None

    Examples
    --------
    >>> from firings.services.recording.choices import ReadingChoices
    >>> from firings.services.recording.layout import lay_out
    >>> from firings.services.recording.source import lines_of
    >>> from firings.services.recording.table import samples_of
    >>> lines = lines_of(b"s;chamber F\\n0;68\\n1;-200\\n2;212\\n")
    >>> layout = lay_out(next(samples_of(lines, ";", 8)), ReadingChoices())
    >>> seen = temperatures_of(np.array([68.0, -200.0, 212.0]), None, layout, None, None)
    >>> seen.celsius.round(6).tolist(), seen.unit
    ([20.0, nan, 100.0], 'F')
    """
    named = layout.channel.unit or noted_unit(layout.notes)
    written = _written(codes)
    remarks: list[RecordingRemark] = []
    if unit is not None:
        if (written or named) not in (None, unit):
            remarks.append(RecordingRemark("unit_overruled", {"unit": unit}))
        codes = None
    elif (unit := written or named) is None:
        widest = float(from_celsius(HOTTEST, "F"))
        unit = guessed_unit(values[(values > COLDEST) & (values < widest)], peak)
        remarks.append(RecordingRemark("unit_guessed", {"unit": unit}))
    celsius = values if unit == "C" else np.asarray(to_celsius(values, "F"))
    if codes is not None:
        other, code = ("F", FAHRENHEIT) if unit == "C" else ("C", CELSIUS)
        if np.any(codes == code):
            celsius = np.where(codes == code, np.asarray(to_celsius(values, other)), celsius)
            remarks.append(RecordingRemark("units_mixed"))
    broken = (celsius < COLDEST) | (celsius > HOTTEST) | _sudden_zeros(values, celsius)
    if broken.any():
        celsius = np.where(broken, np.nan, celsius)
    return LineTemperatures(celsius, unit, tuple(remarks))


def _written(codes: NDArray[np.int8] | None) -> Unit | None:
    """The unit of most cells that name one."""
    if codes is None or not np.any(codes != NO_UNIT):
        return None
    fahrenheit = np.count_nonzero(codes == FAHRENHEIT)
    return "F" if fahrenheit > np.count_nonzero(codes == CELSIUS) else "C"


def _sudden_zeros(values: Floats, celsius: Floats) -> NDArray[np.bool_]:
    """Zeros between hot readings, which some instruments write for a broken thermocouple."""
    zero: NDArray[np.bool_] = values == 0.0
    if not zero.any():
        return zero
    others = np.flatnonzero(np.isfinite(values) & ~zero)
    if not others.size:
        return np.zeros(values.size, dtype=bool)
    at = np.searchsorted(others, np.arange(values.size))
    before = celsius[others[np.maximum(at - 1, 0)]]
    after = celsius[others[np.minimum(at, others.size - 1)]]
    hot_before = (at > 0) & (before > ZERO_BETWEEN)
    hot_after = (at == others.size) | (after > ZERO_BETWEEN)
    return np.asarray(zero & hot_before & hot_after)
