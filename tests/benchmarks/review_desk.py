"""The review desk and a class's page over a term of 30 students:
`python -m tests.benchmarks.review_desk`.

A database of its own in a temporary folder; the pages are asked of the site itself, without a
network, and the best of `ROUNDS` stands beside a fixed numpy loop. Ends with 1 where a figure
misses its limit.
"""

import os
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np

LONGEST_MS, MOST_QUERIES, ROUNDS = 60.0, 12, 20


def best_ms(act: Callable[[], object], clock: Callable[[], float]) -> float:
    times = []
    for _ in range(ROUNDS):
        began = clock()
        act()
        times.append(clock() - began)
    return 1000 * min(times)


def numpy_loop() -> float:
    values = np.linspace(0.0, 1.0, 100_000)
    total = 0.0
    for _ in range(20):
        total += float(np.exp(values).sum())
    return total


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"STUDIO_DATA": folder, "STUDIO_HOSTS": "testserver"}
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
        os.environ.pop("DATABASE_URL", None)
        return measure()


def measure() -> int:
    import django

    django.setup()
    from django.core.management import call_command
    from django.db import connection
    from django.test import Client

    from tests.factories import make_person
    from tests.teaching_term import make_term

    call_command("migrate", verbosity=0)
    call_command("collectstatic", interactive=False, verbosity=0)
    instructor = make_person("oona", role="instructor")
    term = make_term(instructor)
    client = Client()
    client.force_login(instructor, backend="django.contrib.auth.backends.ModelBackend")

    def count(execute: Any, sql: str, *rest: Any) -> Any:
        asked.append(sql)
        return execute(sql, *rest)

    print(f"{len(term.students)} students, {len(term.waiting)} pieces to review")
    beside, good = best_ms(numpy_loop, time.process_time), True
    for address in ("/review/", f"/classes/{term.taught.pk}/progress/"):
        read = partial(page, client, address)
        read()
        asked: list[str] = []
        with connection.execute_wrapper(count):
            read()
        took, elapsed = best_ms(read, time.process_time), best_ms(read, time.perf_counter)
        print(address)
        print(f"  queries            {len(asked):6d}      at most {MOST_QUERIES}")
        print(f"  processor time     {took:6.1f} ms   at most {LONGEST_MS:.0f}")
        print(f"  elapsed            {elapsed:6.1f} ms")
        print(f"  a fixed numpy loop {beside:6.1f} ms   ratio {took / beside:.1f}")
        good &= took <= LONGEST_MS and len(asked) <= MOST_QUERIES
    connection.close()
    return 0 if good else 1


def page(client: Any, address: str) -> None:
    answer = client.get(address)
    if answer.status_code != 200:
        raise RuntimeError(f"{address} answered {answer.status_code}")


if __name__ == "__main__":
    sys.exit(main())
