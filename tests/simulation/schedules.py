"""Schedules and mishaps drawn at random, such as a studio would key them."""

import numpy as np

from schedules.services.curve import Segment
from tests.simulation.firings import Mishap


def random_schedule(rng: np.random.Generator) -> list[Segment]:
    """A fuse or a slump of three to eight segments, its last cooling left to the kiln."""
    fuse = rng.random() < 0.6
    peak = float(rng.integers(735, 812)) if fuse else float(rng.integers(630, 690))
    segments = [
        Segment(
            float(rng.choice([60, 85, 110, 150, 200, 250])),
            float(rng.integers(480, 580)),
            60.0 * float(rng.choice([0, 0, 10, 20, 30])),
        )
    ]
    if fuse and rng.random() < 0.7:
        segments.append(
            Segment(
                float(rng.choice([50, 85, 110, 165, 250])),
                float(rng.integers(640, 680)),
                60.0 * float(rng.choice([0, 20, 30, 45, 60])),
            )
        )
    rate = None if rng.random() < 0.3 else float(rng.choice([110, 165, 250, 330, 500]))
    segments.append(Segment(rate, peak, 60.0 * float(rng.choice([5, 10, 12, 15, 20, 30]))))
    soak = float(rng.choice([482, 510, 516]))
    segments.append(
        Segment(
            None if rng.random() < 0.7 else float(rng.choice([300, 500])),
            soak,
            60.0 * float(rng.choice([30, 60, 90, 120])),
        )
    )
    if rng.random() < 0.8:
        segments.append(
            Segment(float(rng.choice([28, 45, 55, 70, 83])), soak - float(rng.integers(50, 60)))
        )
    if len(segments) > 3 and rng.random() < 0.6:
        segments.append(
            Segment(float(rng.choice([70, 90, 100, 150])), float(rng.integers(365, 385)))
        )
    return segments


def random_mishap(rng: np.random.Generator, segments: list[Segment]) -> Mishap:
    """In half of the firings nothing; otherwise one thing of those that happen."""
    kind = rng.choice(
        ["nothing", "late", "lengthened", "hold_left", "ramp_left", "cut", "cut_hold"],
        p=[0.4, 0.2, 0.1, 0.1, 0.05, 0.1, 0.05],
    )
    held = [index for index, segment in enumerate(segments) if segment.hold > 0]
    index = int(rng.choice(held))
    seconds = 60.0 * float(rng.integers(10, 50))
    if kind == "late":
        return Mishap(late=seconds)
    if kind == "lengthened":
        return Mishap(lengthened=(index, seconds))
    if kind == "hold_left":
        return Mishap(skipped=(index, float(rng.uniform(0.3, 0.7))))
    if kind == "ramp_left":
        # Not the way to the top or down from it: the rest of the plan would not fit any more.
        return Mishap(skipped=(0, float(rng.uniform(0.6, 0.9))), skipped_hold=False)
    dies = bool(rng.random() < 0.5)
    if kind == "cut":
        return Mishap(cut=(int(rng.integers(0, len(segments))), seconds), logger_dies=dies)
    if kind == "cut_hold":
        return Mishap(cut=(index, seconds), cut_hold=True, logger_dies=dies)
    return Mishap()
