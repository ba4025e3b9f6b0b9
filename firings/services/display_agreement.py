"""Whether two displays may differ as they do: two kilns, or one before and after a thermocouple."""

from dataclasses import dataclass

from studio.services.thermocouple import tolerance


@dataclass(frozen=True)
class Fitted:
    """A thermocouple as it is fitted.

    Attributes
    ----------
    kind : its type, one of `thermocouple.TYPES`
    tolerance_class : one of `thermocouple.CLASSES`
    """

    kind: str
    tolerance_class: str


@dataclass(frozen=True)
class Agreement:
    """A difference between two displays, held against what their classes allow.

    Attributes
    ----------
    difference : °C, the second less the first
    allowed : ± °C by which two new thermocouples of these classes may differ, at worst
    first, second : each with its class
    beyond : whether the difference is more than that
    """

    difference: float
    allowed: float
    first: Fitted
    second: Fitted
    beyond: bool


def displays_agree(
    difference: float, temperature: float, first: Fitted, second: Fitted
) -> Agreement:
    """Hold a difference between two kilns, or before and after a new thermocouple, to account.

    A firing against another in the same kiln with the same thermocouple is held against the
    kiln's repeatability instead: the wire's own error is the same in both.

    Parameters
    ----------
    difference : °C, the second display less the first
    temperature : °C at which they differ
    first, second : see `Fitted`

    Returns
    -------
    Agreement

    Raises
    ------
    ValueError
        For a type or class that is not known, or a temperature outside its range.

    Examples
    --------
    >>> both = Fitted("K", "IEC 2"), Fitted("K", "IEC 1")
    >>> seen = displays_agree(8.0, 804.0, *both)
    >>> round(seen.allowed, 1), seen.beyond
    (9.2, False)

    Sources: IEC 60584-1, ASTM E230.
    """
    allowed = sum(
        tolerance(temperature, each.kind, each.tolerance_class) for each in (first, second)
    )
    return Agreement(difference, allowed, first, second, abs(difference) > allowed)
