"""The cells of every line of a table, read as its layout says."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firings.services.recording.cells import Cells
from firings.services.recording.choices import ReadingChoices
from firings.services.recording.layout import Layout
from firings.services.recording.moments import MOMENT
from firings.services.recording.numbers import NumberCells, number_cells
from firings.services.recording.series import Floats, RecordingError
from firings.services.recording.table import Columns, Table
from firings.services.recording.time_columns import NUMBER
from firings.services.recording.times import (
    LineTimes,
    times_of_clock,
    times_of_moments,
    times_of_plain_numbers,
)


@dataclass(frozen=True)
class LineValues:
    """What stands in each line.

    Parameters
    ----------
    time_cells, time_numbers : the time column, as cells or as numbers, shape (n,)
    dates : the column of dates, or None
    temperatures : as written, NaN where there is none, shape (n,)
    understood : whether that is a number, nothing, or a word for a break, shape (n,)
    units : that stand in the cells or beside them, or None
    blank : lines with neither a time nor a temperature, shape (n,)
    """

    time_cells: Cells | None
    time_numbers: Floats | None
    dates: Cells | None
    temperatures: Floats
    understood: NDArray[np.bool_]
    units: NDArray[np.int8] | None
    blank: NDArray[np.bool_]

    def times(self, layout: Layout, choices: ReadingChoices, expected: float | None) -> LineTimes:
        """The time of each line.

        Parameters
        ----------
        layout : by which these values were read
        choices : of a person, which win over everything
        expected : s that the firing was planned to take, or None

        Raises
        ------
        ValueError
            Where the times stand neither in cells nor in numbers.

        Examples
        --------
        >>> from firings.services.recording.layout import lay_out
        >>> from firings.services.recording.source import lines_of
        >>> from firings.services.recording.table import samples_of
        >>> lines = lines_of(b"min;chamber C\\n0;20\\n1;21\\n2;OPEN\\n")
        >>> sample, choices = next(samples_of(lines, None, 8)), ReadingChoices()
        >>> layout = lay_out(sample, choices)
        >>> values = line_values(Table(lines, sample, layout.first_line), layout)
        >>> values.times(layout, choices, None).seconds.tolist()
        [0.0, 60.0, 120.0]
        """
        name = layout.time_name
        if self.time_numbers is not None:
            return times_of_plain_numbers(
                self.time_numbers, self.temperatures, name, choices, expected
            )
        cells = self.time_cells
        if cells is None:
            raise ValueError("a line has its time either in cells or in numbers")
        dated = self.dates is not None and choices.time_form in (None, "time of day")
        if layout.time.kind == MOMENT or dated:
            return times_of_moments(cells, self.dates, choices, layout.is_fahrenheit)
        return times_of_clock(cells, self.temperatures, name, choices, expected)


def line_values(table: Table, layout: Layout) -> LineValues:
    """Read the columns that are needed.

    Parameters
    ----------
    table : the rows of a file from its first reading on, n of them
    layout : what stands where in it

    Raises
    ------
    RecordingError
        "not_a_table" where the lines can't be parted, "too_large" where they hold too much.

    Examples
    --------
    >>> from firings.services.recording.layout import lay_out
    >>> from firings.services.recording.source import lines_of
    >>> from firings.services.recording.table import samples_of
    >>> lines = lines_of(b"min;chamber C\\n0;20\\n1;21\\n2;OPEN\\n")
    >>> sample = next(samples_of(lines, None, 8))
    >>> layout = lay_out(sample, ReadingChoices())
    >>> seen = line_values(Table(lines, sample, layout.first_line), layout)
    >>> seen.temperatures.tolist(), seen.understood.tolist()
    ([20.0, 21.0, nan], [True, True, True])
    """
    numeric = layout.time.kind == NUMBER
    time, channel = layout.time.time, layout.channel.column
    numbers = {channel, time} if numeric else {channel}
    others = {layout.time.date, layout.unit_column, None if numeric else time}
    cells = {place for place in others if place is not None}
    try:
        columns = table.read(cells, numbers, layout.decimal)
    except RecordingError:
        raise
    except ValueError:  # something else stands among the numbers
        try:
            columns = table.read(cells | numbers, (), layout.decimal)
        except RecordingError:
            raise
        except ValueError as error:
            raise RecordingError("not_a_table") from error
    temperatures = _numbers(columns, channel, layout.decimal)
    units = temperatures.units if temperatures.units.any() else None
    if layout.unit_column is not None:
        units = number_cells(_behind_a_zero(columns.cells[layout.unit_column]), ".").units
    time_cells = time_numbers = None
    if numeric:
        found = _numbers(columns, time, layout.decimal)
        time_numbers, timeless = found.values, np.isnan(found.values) & found.understood
    else:
        time_cells = columns.cells[time]
        timeless = time_cells == b""
    return LineValues(
        time_cells=time_cells,
        time_numbers=time_numbers,
        dates=None if layout.time.date is None else columns.cells[layout.time.date],
        temperatures=temperatures.values,
        understood=temperatures.understood,
        units=units,
        blank=timeless & np.isnan(temperatures.values) & temperatures.understood,
    )


def _numbers(columns: Columns, place: int, decimal: str) -> NumberCells:
    if place in columns.cells:
        return number_cells(columns.cells[place], decimal)
    values = columns.numbers[place]
    understood = np.ones(values.size, dtype=bool)
    return NumberCells(values, np.zeros(values.size, dtype=np.int8), understood)


def _behind_a_zero(cells: Cells) -> Cells:
    """Bare units as cells of numbers with a unit."""
    width = cells.dtype.itemsize + 8
    return np.char.add(b"0 ", cells).astype(f"S{width}")
