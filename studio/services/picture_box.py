"""A part of a picture."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Box:
    """A part of a picture in whole pixels; right and bottom are the first that lie outside."""

    left: int
    top: int
    right: int
    bottom: int
