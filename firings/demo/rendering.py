"""Rendered pictures for the demo: pieces of glass on a shelf, drawn from heights and light.

A picture is computed from distance fields: each part of a piece has an outline and a rounding of
its edge that grows with the heat it got, the heights give normals, and one light gives the shading.
"""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import gaussian_filter

WIDTH, HEIGHT = 640, 480
LIGHT = np.array([-0.451, -0.601, 0.660], dtype=np.float32)  # towards the lamp, length 1
HALF_WAY = np.array([-0.247, -0.330, 0.911], dtype=np.float32)  # between the lamp and the eye

Plane = NDArray[np.float32]

COLOURS: dict[str, tuple[float, float, float]] = {
    "clear": (0.80, 0.90, 0.88),
    "sea green": (0.30, 0.62, 0.55),
    "amber": (0.85, 0.55, 0.16),
    "deep blue": (0.12, 0.22, 0.55),
    "smoke": (0.36, 0.37, 0.40),
    "white": (0.93, 0.92, 0.88),
    "turquoise": (0.20, 0.66, 0.72),
    "rust red": (0.66, 0.20, 0.12),
    "lilac": (0.60, 0.50, 0.72),
    "float": (0.68, 0.86, 0.80),
}
OPAQUE = {"white", "rust red"}


@dataclass(frozen=True)
class Look:
    """What a picture shows: `heat` runs from −2 (well short) to +2 (well past); None is unfired."""

    shape: str  # "square", "disc", "bowl", "block", "strip" or "beads"
    base: str
    accents: tuple[str, ...] = ()
    heat: float | None = 0.0
    relief: bool = False
    faults: tuple[str, ...] = ()
    seed: int = 0


@cache
def _grid() -> tuple[Plane, Plane]:
    y, x = np.mgrid[0:HEIGHT, 0:WIDTH].astype(np.float32)
    return (x - WIDTH / 2) / (HEIGHT / 2), (y - HEIGHT / 2) / (HEIGHT / 2)


def _disc(x0: float, y0: float, radius: float) -> Plane:
    x, y = _grid()
    return np.hypot(x - x0, y - y0) - radius


def _box(x0: float, y0: float, half_w: float, half_h: float, angle: float, corner: float) -> Plane:
    x, y = _grid()
    cos, sin = np.cos(angle), np.sin(angle)
    u = np.abs((x - x0) * cos + (y - y0) * sin) - (half_w - corner)
    v = np.abs(-(x - x0) * sin + (y - y0) * cos) - (half_h - corner)
    outside = np.hypot(np.maximum(u, 0), np.maximum(v, 0))
    return outside + np.minimum(np.maximum(u, v), 0) - corner


def _dome(distance: Plane, rounding: float, height: float) -> Plane:
    """Height above the shelf of a part whose edge is rounded over `rounding`."""
    inward = np.clip(-distance / rounding, 0, 1)
    return height * np.sqrt(np.clip(1 - (1 - inward) ** 2, 0, 1))


def render(look: Look) -> bytes:
    """A JPEG of the piece on its shelf; the same look gives the same bytes."""
    rng = np.random.default_rng(look.seed)
    image = _laid_on(_shelf(look.seed % 3), look, rng)
    x, y = _grid()
    image *= (1.06 - 0.16 * (x**2 + y**2))[..., None]
    image += rng.normal(0, 0.008, image.shape).astype(np.float32)
    return _jpeg(image)


def render_shelf(looks: Sequence[tuple[Look, float, float]], seed: int = 0) -> bytes:
    """A JPEG of several pieces on one shelf, each at its middle: of the picture's width and height.

    Each is drawn by itself, and what it does to the light of its ground is laid on the shelf.
    """
    shelf = np.kron(_shelf(seed % 3), np.ones((2, 2, 1), dtype=np.float32))
    half_h, half_w = HEIGHT // 4, WIDTH // 4
    for look, left, top in looks:
        ground = _shelf(look.seed % 3)
        light = _laid_on(ground, look, np.random.default_rng(look.seed)) / ground
        light = light.reshape(HEIGHT // 2, 2, WIDTH // 2, 2, 3).mean(axis=(1, 3))
        y0, x0 = round(top * 2 * HEIGHT) - half_h, round(left * 2 * WIDTH) - half_w
        rows = slice(max(y0, 0), min(y0 + 2 * half_h, 2 * HEIGHT))
        columns = slice(max(x0, 0), min(x0 + 2 * half_w, 2 * WIDTH))
        shelf[rows, columns] *= light[
            rows.start - y0 : rows.stop - y0, columns.start - x0 : columns.stop - x0
        ]
    return _jpeg(shelf)


def _laid_on(
    ground: NDArray[np.float32], look: Look, rng: np.random.Generator
) -> NDArray[np.float32]:
    """The picture of a piece on this ground, before the lamp's fall-off and the camera's noise."""
    heat = -3.0 if look.heat is None else look.heat
    softness = float(np.clip((heat + 3) / 5, 0.02, 1))  # 0 sharp … 1 flowed
    image = ground.copy()
    parts = _parts(look, softness, rng)
    for distance, colour, height, rounding in parts:
        _lay(image, distance, colour, height, rounding, look.shape == "bowl")
    for fault in look.faults:
        image = _spoil(image, fault, parts[0][0] < 0, rng)
    return image


def _jpeg(image: NDArray[np.float32]) -> bytes:
    picture = Image.fromarray((np.clip(image, 0, 1) * 255).astype(np.uint8))
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=84)
    return out.getvalue()


@cache
def _shelf(number: int) -> NDArray[np.float32]:
    rng = np.random.default_rng(number)
    grain = gaussian_filter(rng.normal(0, 1, (HEIGHT, WIDTH)), 1.2)
    strokes = gaussian_filter(rng.normal(0, 1, (HEIGHT, WIDTH)), (2.0, 40))
    ground = 0.80 + 0.02 * grain + 0.12 * strokes
    return (ground[..., None] * np.array([1.0, 0.975, 0.93])).astype(np.float32)


def _parts(
    look: Look, softness: float, rng: np.random.Generator
) -> list[tuple[Plane, str, float, float]]:
    """(distance, colour, height, rounding) of each part, from the shelf upwards."""
    edge = 0.02 + 0.12 * softness
    spread = 1 + 0.05 * max(softness - 0.6, 0)
    parts: list[tuple[Plane, str, float, float]] = []
    if look.shape in ("disc", "bowl"):
        parts.append((_disc(0, 0, 0.66 * spread), look.base, 0.10, edge))
    elif look.shape == "block":
        parts.append((_box(0, 0, 0.62, 0.48, 0.05, 0.05 + edge / 2), look.base, 0.24, edge * 1.4))
    elif look.shape == "strip":
        parts.append((_box(0, 0, 0.95, 0.30, -0.06, 0.02 + edge / 2), look.base, 0.09, edge))
    elif look.shape == "beads":
        for n in range(11):
            x0, y0 = -0.95 + 0.19 * n + rng.normal(0, 0.02), rng.normal(0, 0.18)
            colour = (look.base, *look.accents)[n % (1 + len(look.accents))]
            parts.append((_disc(x0, y0, rng.uniform(0.075, 0.1)), colour, 0.16, 0.09))
        return parts
    else:
        corner = 0.015 + 0.09 * softness
        parts.append((_box(0, 0, 0.62 * spread, 0.62 * spread, 0.04, corner), look.base, 0.1, edge))
    # In a full fuse the upper pieces sink in; a tack keeps their relief.
    sink = 0.25 + 0.75 * softness if look.relief else 0.55 + 0.45 * softness
    for n, colour in enumerate(look.accents):
        for _ in range(3):
            height = 0.085 * (1 - 0.86 * sink)
            rounding = 0.015 + 0.07 * sink
            grow = 1 + 0.25 * sink
            x0, y0 = (
                rng.uniform(-0.42, 0.42),
                rng.uniform(-0.38, 0.38) * (0.4 if look.shape == "strip" else 1),
            )
            if n % 2:
                shape = _disc(x0, y0, rng.uniform(0.05, 0.1) * grow)
            else:
                length, breadth = rng.uniform(0.12, 0.3), rng.uniform(0.03, 0.07) * grow
                shape = _box(x0, y0, length, breadth, rng.uniform(0, 3.1), rounding)
            parts.append((shape, colour, height, rounding))
    return parts


def _lay(
    image: NDArray[np.float32],
    distance: Plane,
    colour: str,
    height: float,
    rounding: float,
    hollow: bool,
) -> None:
    """Lay one part onto the image, in place; only the pixels near it are touched."""
    near = distance < height + 0.05
    rows, columns = np.flatnonzero(near.any(1)), np.flatnonzero(near.any(0))
    if not rows.size:
        return
    window = (slice(rows[0], rows[-1] + 9), slice(columns[0], columns[-1] + 9))
    distance = distance[window]
    inside = np.clip(-distance * 160, 0, 1)[..., None]
    fall = np.roll(distance, (7, 6), (0, 1))
    fall[:7], fall[:, :6] = height, height
    shadow = np.clip(1 - fall / (height * 0.9), 0, 1) ** 2
    ground = image[window] * (1 - 0.45 * (shadow * (distance > 0)))[..., None]

    surface = _dome(distance, rounding, height)
    if hollow and height > 0.09:  # only the slumped ground is hollow
        x, y = (axis[window] for axis in _grid())
        surface = surface - 0.19 * np.clip(1 - (x**2 + y**2) / 0.36, 0, 1)
    dy, dx = np.gradient(surface * (HEIGHT / 2))
    across = 1 / np.sqrt(dx**2 + dy**2 + 1)
    normal = np.dstack([-dx * across, -dy * across, across]).astype(np.float32)
    diffuse = np.clip(normal @ LIGHT, 0, 1)[..., None]
    gleam = np.clip(normal @ HALF_WAY, 0, 1)[..., None] ** 60
    rim = (1 - normal[..., 2:]) ** 1.5

    tint = np.array(COLOURS[colour], dtype=np.float32)
    if colour in OPAQUE:
        body = tint * (0.45 + 0.6 * diffuse)
    else:
        depth = np.clip(0.55 + 4.5 * surface[..., None], 0.3, 2.2)
        body = ground * tint**depth * (0.72 + 0.4 * diffuse)
    body = body * (1 - 0.35 * rim) + 0.55 * gleam
    image[window] = ground * (1 - inside) + body * inside


def _spoil(
    image: NDArray[np.float32], fault: str, piece: NDArray[np.bool_], rng: np.random.Generator
) -> NDArray[np.float32]:
    if fault in ("small_bubbles", "large_bubble"):
        sizes = rng.uniform(0.01, 0.025, 22) if fault == "small_bubbles" else np.array([0.16])
        for size in sizes:
            ring = _disc(rng.uniform(-0.4, 0.4), rng.uniform(-0.4, 0.4), float(size))
            image = image + 0.28 * (np.exp(-((ring / 0.006) ** 2)) * piece)[..., None]
    elif fault == "devitrification":
        haze = gaussian_filter(rng.normal(0, 1, (HEIGHT, WIDTH)), 6)
        veil = (np.clip(haze * 14 + 0.2, 0, 1) * piece * 0.4).astype(np.float32)
        image = image * (1 - veil[..., None]) + 0.86 * veil[..., None]
    elif fault.startswith("crack") or fault == "split":
        x, y = _grid()
        bend = rng.uniform(-0.4, 0.4)
        line = y - bend * x - 0.06 * np.sin(7 * x + rng.uniform(0, 6))
        crack = np.exp(-((line / 0.006) ** 2)) * piece
        image = image * (1 - 0.75 * crack[..., None])
    return image.astype(np.float32)
