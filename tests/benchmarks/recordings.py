"""Everything of recordings that has a figure to keep to: `python -m tests.benchmarks.recordings`.

Reading and storing here; comparing, learning and drawing in the modules beside it. Each figure
stands beside its limit; ends with 1 where one is missed. Times are of the processor, so that what
else the machine does counts for little, and the two sides of a ratio take turns.
"""

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd

from firings.services.recording import Recording, read_recording
from firings.services.recording.packing import pack, unpack
from schedules.services.thinning import thinned
from tests.benchmarks import recordings_chart, recordings_compare
from tests.benchmarks.recordings_compare import day_of_seconds, told

ROWS = 1_000_000
ROUNDS = 7
ZONE = "Europe/Lisbon"

MOST_TIMES_ISO = 3.0
"""times a bare `pandas.read_csv` that parses the dates."""
MOST_TIMES_EUROPEAN = 1.5
"""times `pandas.read_csv` that is told the format and the decimal sign."""
MOST_MB = 600.0
LARGEST_KB, LONGEST_UNPACK_MS = 250.0, 10.0
LONGEST_THINNING_MS = 5.0


def best(*works: Callable[[], object], rounds: int = ROUNDS) -> list[float]:
    """The shortest of some runs of each, taken in turns, s of the processor."""
    shortest = [np.inf] * len(works)
    for _ in range(rounds):
        for at, work in enumerate(works):
            begin = time.process_time()
            work()
            shortest[at] = min(shortest[at], time.process_time() - begin)
    return shortest


def million_rows(path: Path, *, european: bool) -> None:
    """A file of a reading a second, with readings that are all different."""
    moments = pd.date_range("2026-03-12 17:40:05", periods=ROWS, freq="1s")
    rng = np.random.default_rng(7)
    shown = 400.0 + 380.0 * np.sin(np.arange(ROWS) / 1.1e5) + rng.normal(0.0, 1.0, ROWS)
    if european:
        texts = moments.strftime("%d.%m.%Y %H:%M:%S")
        values = [f"{value:.1f}".replace(".", ",") for value in shown]
        head, mark = "Datum;Ofen °C", ";"
    else:
        texts = moments.strftime("%Y-%m-%d %H:%M:%S")
        values = [f"{value:.1f}" for value in shown]
        head, mark = "time,chamber °C", ","
    lines = [f"{at}{mark}{value}" for at, value in zip(texts, values, strict=True)]
    path.write_text("\n".join([head, *lines, ""]))


def iso() -> bool:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "iso.csv"
        million_rows(path, european=False)
        bare, ours = best(
            lambda: pd.read_csv(path, parse_dates=[0]), lambda: read_recording(path, timezone=ZONE)
        )
        print(f"{ROWS:,} rows, ISO: bare {bare * 1e3:.0f} ms, as a recording {ours * 1e3:.0f} ms")
        kept = told("ISO times, times a bare read_csv", ours / bare, MOST_TIMES_ISO)
        return told("the same, peak memory", peak_memory(path), MOST_MB, "MB") and kept


def european() -> bool:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "european.csv"
        million_rows(path, european=True)
        bare, ours = best(
            lambda: pd.read_csv(
                path, sep=";", decimal=",", parse_dates=[0], date_format="%d.%m.%Y %H:%M:%S"
            ),
            lambda: read_recording(path, timezone=ZONE),
            rounds=3,
        )
        print(f"{ROWS:,} rows, European: told {bare * 1e3:.0f} ms, ours {ours * 1e3:.0f} ms")
        kept = told("European dates and decimals, times read_csv", ours / bare, MOST_TIMES_EUROPEAN)
        return told("the same, peak memory", peak_memory(path), MOST_MB, "MB") and kept


def peak_memory(path: Path) -> float:
    """MB that a process of its own holds at most while it reads a file, libraries and all."""
    code = (
        "import resource, sys\n"
        "from firings.services.recording import read_recording\n"
        f"assert read_recording(sys.argv[1], timezone={ZONE!r}).times.size == {ROWS}\n"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)\n"
    )
    done = subprocess.run(  # noqa: S603
        [sys.executable, "-c", code, str(path)],
        env=os.environ,
        capture_output=True,
        text=True,
        check=True,
    )
    return float(done.stdout) / 1024.0


def storing() -> bool:
    day = day_of_seconds()
    day = Recording(day.times, np.round(day.temperatures, 1))
    packed = pack(day)
    [spent] = best(lambda: unpack(packed), rounds=20)
    small = told("a day at one reading a second, stored", len(packed) / 1e3, LARGEST_KB, "KB")
    quick = told("the same, read back", spent * 1e3, LONGEST_UNPACK_MS, "ms")
    return small and quick and unpack(packed).temperatures.tolist() == day.temperatures.tolist()


def thinning() -> bool:
    times = np.arange(float(ROWS))
    shown = np.random.default_rng(8).normal(400.0, 1.0, ROWS)
    [spent] = best(lambda: thinned(times, shown, 2000), rounds=20)
    return told(f"{ROWS:,} readings thinned to 2,000", spent * 1e3, LONGEST_THINNING_MS, "ms")


def sections() -> list[Callable[[], bool]]:
    """Each prints its figures and says whether all keep to their limits."""
    return [iso, european, storing, thinning]


def main() -> int:
    every = [*sections(), *recordings_compare.sections(), recordings_chart.chart_data]
    kept = [section() for section in every]
    return int(not all(kept))


if __name__ == "__main__":
    sys.exit(main())
