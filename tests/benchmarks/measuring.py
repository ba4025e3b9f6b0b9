"""How well measuring a kiln finds what is known of it: `python -m tests.benchmarks.measuring`.

A hundred simulated kilns (`tests.simulation.measuring`). Ends with 1 where a figure misses its
limit.
"""

import sys

import numpy as np

from firings.services.evenness import evenness
from tests.benchmarks.curve import best
from tests.simulation.measuring import (
    FOUND_AT_LEAST,
    HELD_AT_LEAST,
    PLACES_AT_LEAST,
    REFERENCE,
    WRONG_AT_MOST,
    fired_in,
    score,
    true_kiln,
)

KILNS = 100
LONGEST_SHELF = 0.5
"""s, best of the rounds: a shelf of nine places from 40 firings."""


def main() -> int:
    found = score(KILNS, seed=1)
    rng = np.random.default_rng(1)
    judged = fired_in(true_kiln(rng), rng)
    taken = best(lambda: evenness([], judged, REFERENCE))
    print(f"{KILNS} kilns")
    print(f"offset within its spread          {found.held:6.0%}   at least {HELD_AT_LEAST:.0%}")
    print(f"  that spread, in the mean         ± {found.half_width:.1f} °C")
    print(
        f"  by one firing of strips         {found.strips_held:6.0%}   at least {HELD_AT_LEAST:.0%}"
    )
    print(f"coldest place of 40 firings found {found.found:6.0%}   at least {FOUND_AT_LEAST:.0%}")
    print(f"  with one firing of strips       {found.with_strips:6.0%}")
    print(f"  another one named instead       {found.wrong:6.0%}   at most {WRONG_AT_MOST:.0%}")
    held = found.places_held
    print(f"places within their spread        {held:6.0%}   at least {PLACES_AT_LEAST:.0%}")
    print(f"a shelf from {len(judged)} pieces        {taken:6.2f} s    at most {LONGEST_SHELF} s")
    missed = (
        min(found.held, found.strips_held) < HELD_AT_LEAST
        or found.found < FOUND_AT_LEAST
        or found.wrong > WRONG_AT_MOST
        or found.places_held < PLACES_AT_LEAST
        or taken > LONGEST_SHELF
    )
    return int(missed)


if __name__ == "__main__":
    sys.exit(main())
