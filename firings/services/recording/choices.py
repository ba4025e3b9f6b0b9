"""What a person may say about a file, where it was guessed wrongly or can't be told."""

from dataclasses import dataclass
from datetime import date
from typing import Literal

DateOrder = Literal["day first", "month first", "year first"]
TimeUnit = Literal["ms", "s", "min", "h"]


@dataclass(frozen=True, kw_only=True)
class ReadingChoices:
    """How a file is to be read; None leaves it to be told from the file.

    Columns are counted from 0.

    Parameters
    ----------
    sheet : name of the sheet of a workbook
    delimiter : ";", ",", a tab, "|", or " " for any white space
    decimal : "." or ","
    time_column : where the date and time, or the time, stand
    date_column : where the date stands, if it has a column of its own
    channel : the column of temperatures
    date_order : of dates that can be read in two ways
    time_unit : of plain numbers of elapsed time
    starts_on : the day of the first reading, where the file has times of day without a date

    Raises
    ------
    ValueError
        For a negative column, or another decimal sign.

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
    starts_on: date | None = None

    def __post_init__(self) -> None:
        if self.decimal not in (None, ".", ","):
            raise ValueError(f"a decimal sign is . or , not {self.decimal!r}")
        for column in (self.time_column, self.date_column, self.channel):
            if column is not None and column < 0:
                raise ValueError(f"columns are counted from 0, so {column} is none")
