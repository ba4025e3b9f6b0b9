"""What a person may say about a file, where it was guessed wrongly or can't be told."""

from dataclasses import dataclass
from datetime import date
from typing import Literal

DateOrder = Literal["day first", "month first", "year first"]
TimeUnit = Literal["ms", "s", "min", "h"]
TimeForm = Literal["time of day", "h:mm", "m:ss"]

DELIMITERS = (";", "\t", "|", ",", " ")
"""The likelier first: a comma may also be a decimal sign. The blank stands for any white space."""


@dataclass(frozen=True, kw_only=True)
class ReadingChoices:
    """How a file is to be read; None leaves it to be told from the file.

    Columns are counted from 0.

    Parameters
    ----------
    sheet : name of the sheet of a workbook
    delimiter : one of `DELIMITERS`; the cells of a workbook need none
    decimal : "." or ","
    time_column : where the date and time, or the time, stand
    date_column : where the date stands, if it has a column of its own; what stands there beside
        the date does not count
    channel : the column of temperatures
    date_order : of dates that can be read in two ways
    time_unit : of plain numbers of elapsed time
    time_form : of times with colons: "time of day", or since the start with hours and minutes,
        "h:mm", or minutes and seconds, "m:ss", where a time is written as two numbers; since the
        start, a column of dates does not count
    starts_on : the day of the first reading, where the file has times of day without a date

    Raises
    ------
    ValueError
        For a negative column, or another delimiter or decimal sign.

    Examples
    --------
    >>> ReadingChoices(channel=3, date_order="month first").channel
    3
    """

    sheet: str | None = None
    delimiter: str | None = None
    decimal: str | None = None
    time_column: int | None = None
    date_column: int | None = None
    channel: int | None = None
    date_order: DateOrder | None = None
    time_unit: TimeUnit | None = None
    time_form: TimeForm | None = None
    starts_on: date | None = None

    def __post_init__(self) -> None:
        if self.decimal not in (None, ".", ","):
            raise ValueError(f"a decimal sign is . or , not {self.decimal!r}")
        if self.delimiter not in (None, *DELIMITERS):
            raise ValueError(f"cells are parted by one of {DELIMITERS}, not {self.delimiter!r}")
        for column in (self.time_column, self.date_column, self.channel):
            if column is not None and column < 0:
                raise ValueError(f"columns are counted from 0, so {column} is none")
