"""How quick and how large the chart data of a day at one reading a second is:
`python -m tests.benchmarks.recordings_chart`.

Each figure stands beside its limit; ends with 1 where one is missed.
"""

import json
import sys
import time
from datetime import datetime
from zoneinfo import ZoneInfo

import brotli
import numpy as np

from schedules.charts import Line, TemperatureBand, planned_line
from schedules.figures import TimeBand, plotly_figure
from schedules.services.curve import planned_curve
from tests.benchmarks.recordings_compare import EIGHT_SEGMENTS, ROUNDS, day_of_seconds, told
from tests.simulation.scoring import PRIOR

LONGEST_MS, LARGEST_KB = 30.0, 120.0
STARTS_AT = datetime(2026, 3, 28, 18, 0, tzinfo=ZoneInfo("Europe/Lisbon"))
"""The clocks change in that night."""


def chart_data() -> bool:
    plan, day = planned_curve(EIGHT_SEGMENTS, PRIOR), day_of_seconds()
    given = {
        "unit": "F",
        "planned": planned_line(plan, cooled_to=60.0),
        "recorded": Line(*day.broken_at_gaps()),
        "bands": [TemperatureBand("anneal", "annealing range", 493.0, 532.0)],
        "stretches": [
            TimeBand(str(index + 1), span.ramp_start, span.hold_end)
            for index, span in enumerate(plan.spans)
        ],
        "starts_at": STARTS_AT,
    }
    spent = []
    for _ in range(ROUNDS):
        begin = time.perf_counter()
        text = json.dumps(plotly_figure(**given)).encode()
        spent.append(time.perf_counter() - begin)
    size = len(brotli.compress(text, quality=5)) / 1e3
    quick = told("chart data of 86,400 readings", float(np.median(spent)) * 1e3, LONGEST_MS, "ms")
    small = told("the same, compressed", size, LARGEST_KB, "KB")
    return quick and small


if __name__ == "__main__":
    sys.exit(0 if chart_data() else 1)
