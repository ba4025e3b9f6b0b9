"""What forecasts said against what came, drawn on the server."""

from dataclasses import dataclass

from firings.services.calibration import Calibration
from studio import formats

LEFT, RIGHT, TOP, BOTTOM = 56.0, 330.0, 12.0, 252.0
TICKS = (0.0, 0.25, 0.5, 0.75, 1.0)
BESIDE, ABOVE, BELOW = 7.0, 9.0, 4.0
"""From a dot to its count: to its right, and above it where the axis is near."""
NEAR_AXIS = 0.06
"""Share below which the axis is near."""


@dataclass(frozen=True)
class SharePoint:
    """A dot for forecasts that said about the same, and the range in which the truth may lie."""

    x: float
    y: float
    low: float
    high: float
    count: int
    count_x: float
    count_y: float


@dataclass(frozen=True)
class ShareTick:
    x: float
    y: float
    label: str


@dataclass(frozen=True)
class ReliabilityDrawing:
    """Dots near the dashed line mean that forecasts came true as often as they said."""

    points: tuple[SharePoint, ...]
    ticks: tuple[ShareTick, ...]
    base_rate: float
    width: int = 360
    height: int = 306
    left: float = LEFT
    right: float = RIGHT
    top: float = TOP
    bottom: float = BOTTOM

    @property
    def tick_right(self) -> float:
        return self.left - 7

    @property
    def tick_below(self) -> float:
        return self.bottom + 20

    @property
    def title_below(self) -> float:
        return self.bottom + 44

    @property
    def middle(self) -> float:
        return (self.left + self.right) / 2


def reliability_drawing(calibration: Calibration) -> ReliabilityDrawing:
    return ReliabilityDrawing(
        points=tuple(
            SharePoint(
                x=_x(each.said),
                y=_y(each.share),
                low=_y(each.share_low),
                high=_y(each.share_high),
                count=each.forecasts,
                count_x=_x(each.said) + BESIDE,
                count_y=_y(each.share) + (-ABOVE if each.share < NEAR_AXIS else BELOW),
            )
            for each in calibration.bins
        ),
        ticks=tuple(ShareTick(_x(share), _y(share), formats.percent(share)) for share in TICKS),
        base_rate=_y(calibration.base_rate),
    )


def _x(share: float) -> float:
    return round(LEFT + (RIGHT - LEFT) * share, 1)


def _y(share: float) -> float:
    return round(BOTTOM - (BOTTOM - TOP) * share, 1)
