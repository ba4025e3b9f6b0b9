"""What the benchmarks of pages share: a site of their own, and what a page takes of it."""

import os
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import numpy as np

ROUNDS = 20


@contextmanager
def site_of_its_own() -> Iterator[None]:
    """A database in a temporary folder, migrated, for as long as the block lasts."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"STUDIO_DATA": folder, "STUDIO_HOSTS": "testserver"}
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
        os.environ.pop("DATABASE_URL", None)
        import django

        django.setup()
        from django.core.management import call_command
        from django.db import connection

        call_command("migrate", verbosity=0)
        call_command("collectstatic", interactive=False, verbosity=0)
        yield
        connection.close()


def signed_in(person: Any) -> Any:
    from django.test import Client

    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


@dataclass(frozen=True)
class PageTime:
    """`processor_ms` and `elapsed_ms`: the best of `ROUNDS`."""

    queries: int
    processor_ms: float
    elapsed_ms: float

    def keeps_to(self, longest_ms: float, most_queries: int) -> bool:
        return self.processor_ms <= longest_ms and self.queries <= most_queries


def page_time(client: Any, address: str) -> PageTime:
    """Of a page asked of the site itself, once it was asked before."""
    from django.db import connection

    asked: list[str] = []

    def ask() -> None:
        answer = client.get(address)
        if answer.status_code != 200 or not answer.getvalue():
            raise RuntimeError(f"{address} answered {answer.status_code}")

    def count(execute: Any, sql: str, *rest: Any) -> Any:
        asked.append(sql)
        return execute(sql, *rest)

    ask()
    with connection.execute_wrapper(count):
        ask()
    return PageTime(len(asked), best_ms(ask, time.process_time), best_ms(ask, time.perf_counter))


def yardstick_ms() -> float:
    """A fixed numpy loop, by which machines are told apart."""
    return best_ms(numpy_loop, time.process_time)


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
