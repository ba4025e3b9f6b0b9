"""How far a student's verdicts agree with their instructor's.

Source: plain counts and means; no model.
"""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Agreement:
    """Over pieces that both judged; verdicts are −2 … +2.

    Attributes
    ----------
    pieces : how many both judged
    same : of these the same
    within_one : of these no further apart than one step
    apart : mean distance, in steps
    leaning : mean of the student's less the instructor's: above 0 sees pieces gone further
    """

    pieces: int
    same: int
    within_one: int
    apart: float
    leaning: float

    @property
    def share(self) -> float:
        return self.same / self.pieces


def agreement(pairs: Iterable[tuple[int, int]]) -> Agreement | None:
    """Of (student's, instructor's) verdicts; None without any.

    Examples
    --------
    >>> found = agreement([(0, 0), (1, 0), (0, -1), (0, 0)])
    >>> found.same, found.share, found.apart, found.leaning
    (2, 0.5, 0.5, 0.5)
    """
    both = list(pairs)
    if not both:
        return None
    differences = [mine - theirs for mine, theirs in both]
    return Agreement(
        pieces=len(both),
        same=sum(each == 0 for each in differences),
        within_one=sum(abs(each) <= 1 for each in differences),
        apart=sum(abs(each) for each in differences) / len(both),
        leaning=sum(differences) / len(both),
    )
