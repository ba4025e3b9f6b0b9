"""How cool a piece must be before its kiln is opened.

Air and a cool room draw heat from the face that is laid open; until the middle follows, it pulls
the face. The thicker the piece, the more: a thin one may be opened at a temperature that would
crack a casting.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from schedules.services.conduction import conduction_path
from schedules.services.passing_stress import DESIGN_STRENGTH
from schedules.services.stress import biaxial_modulus
from studio.services.glass import ZERO_CELSIUS, Glass

Floats = NDArray[np.float64]

CONVECTION = 10.0
"""W/(m²·K) of still air that rises from a hot surface, with a little draught (memory)."""
EMISSIVITY = 0.9
"""Of glass in the far infrared (memory)."""
STEFAN_BOLTZMANN = 5.670374419e-8
"""W/(m²·K⁴), exact by the SI of 2019 (CODATA; memory)."""
HOTTEST_OPENING = 150.0
"""°C above which practice leaves a kiln shut, however thin the piece; from memory, no source."""

_ROOTS = 40
_FOURIER_NUMBERS = np.geomspace(1e-3, 20.0, 120)


@dataclass(frozen=True, slots=True)
class OpeningLimit:
    """°C of the glass at which it may be opened at most, and what says so.

    Attributes
    ----------
    temperature : °C
    by_practice : whether practice sets it, and the glass's strength would bear more
    """

    temperature: float
    by_practice: bool


def surface_coefficient(temperature: float, room: float = 20.0) -> float:
    """W/(m²·K) between glass at `temperature` and a room at `room`, °C: by air and by radiation.

    Examples
    --------
    >>> round(surface_coefficient(100.0), 1)
    17.7
    """
    hot, cold = temperature + ZERO_CELSIUS, room + ZERO_CELSIUS
    radiation = EMISSIVITY * STEFAN_BOLTZMANN * (hot**2 + cold**2) * (hot + cold)
    return CONVECTION + radiation


def face_stress_share(biot: float) -> float:
    """The greatest tension of a face that is laid open, over E·α·ΔT/(1 − ν).

    The Fourier series of a slab that begins at one temperature and gives off heat by a surface
    coefficient: mean minus face, at its greatest over time. It tends to Bi/3 for a thin slab and to
    1 for a very thick one.

    Parameters
    ----------
    biot : h·a/k, with a from `conduction_path`; above 0

    Raises
    ------
    ValueError
        For a Biot number that is not above 0.

    Source: H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids (memory), for the series.

    Examples
    --------
    >>> [round(face_stress_share(bi), 3) for bi in (0.01, 1.0, 1000.0)]
    [0.003, 0.208, 0.947]
    """
    if not biot > 0:
        raise ValueError(f"A Biot number is above 0: {biot}.")
    roots = _roots(biot)
    weights = 4 * np.sin(roots) / (2 * roots + np.sin(2 * roots))
    mean_minus_face = weights * (np.sin(roots) / roots - np.cos(roots))
    over_time = np.exp(-np.outer(_FOURIER_NUMBERS, roots**2)) @ mean_minus_face
    return float(over_time.max())


def _roots(biot: float) -> Floats:
    """Where ζ tan ζ = Bi, one in each half-turn: ζ sin ζ − Bi cos ζ rises through 0 there, or
    falls, turn about."""
    low = np.pi * np.arange(_ROOTS)
    high = low + np.pi / 2
    sign = np.where(np.arange(_ROOTS) % 2 == 0, 1.0, -1.0)
    for _ in range(40):
        middle = (low + high) / 2
        below = sign * (middle * np.sin(middle) - biot * np.cos(middle)) < 0
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return (low + high) / 2


def opening_stress(
    temperature: float, thickness: float, glass: Glass, faces: int = 1, *, room: float = 20.0
) -> float:
    """The greatest tension at the face of a slab that is laid open to the room all at once.

    Parameters
    ----------
    temperature : of the glass throughout, °C, below its strain point
    thickness : m
    glass : see `Glass`
    faces : 1 or 2 faces that are laid open
    room : °C

    Returns
    -------
    Pa; 0 where the glass is no warmer than the room. The surface coefficient counts as at first,
    while it is greatest.

    Raises
    ------
    ValueError
        As `conduction_path`.

    Examples
    --------
    >>> round(opening_stress(100.0, 0.1, Glass()) / 1e6, 1)
    19.0
    """
    path = conduction_path(thickness, faces)
    if temperature <= room:
        return 0.0
    biot = surface_coefficient(temperature, room) * path / glass.conductivity
    bound = biaxial_modulus(glass) * glass.expansion * (temperature - room)
    return bound * face_stress_share(biot)


def opening_limit(
    thickness: float,
    glass: Glass,
    faces: int = 1,
    *,
    room: float = 20.0,
    strength: float = DESIGN_STRENGTH,
) -> OpeningLimit:
    """The highest temperature at which a kiln with this piece may be opened.

    Where the tension of `opening_stress` comes to `strength`, and never above `HOTTEST_OPENING`:
    edges, relief and a draught break pieces sooner. A calculation, no guarantee: the glass maker's
    and the kiln's manuals win.

    Parameters
    ----------
    thickness : m, for which the piece is annealed (`anneal_thickness`)
    glass : see `Glass`
    faces : 1 or 2 faces that are laid open
    room : °C
    strength : Pa of tension that the glass may see

    Returns
    -------
    OpeningLimit, of the glass: of the display it is less by the kiln's offset.

    Raises
    ------
    ValueError
        For a strength that is not positive; and as `conduction_path`.

    Examples
    --------
    >>> [round(opening_limit(mm / 1000, Glass()).temperature) for mm in (6, 50, 100, 200)]
    [150, 115, 84, 66]
    """
    if not strength > 0:
        raise ValueError(f"A strength is above 0: {strength} Pa.")
    hottest = max(HOTTEST_OPENING, room)
    if opening_stress(hottest, thickness, glass, faces, room=room) <= strength:
        return OpeningLimit(hottest, by_practice=True)

    def beyond(temperature: float) -> float:
        return opening_stress(temperature, thickness, glass, faces, room=room) - strength

    return OpeningLimit(float(brentq(beyond, room, hottest, xtol=0.01)), by_practice=False)
