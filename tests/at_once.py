"""Several people act in the same moment, each on a connection of their own."""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any, TypeVar

from django.core.exceptions import ValidationError
from django.db import connections

T = TypeVar("T")


def at_once(act: Callable[[T], Any], each: Sequence[T]) -> list[Any]:
    """What the act gives each of them; or the `ValidationError` by which they were told why not."""
    gate = Barrier(len(each))

    def one(of: T) -> Any:
        try:
            gate.wait(10)
            return act(of)
        except ValidationError as error:
            return error
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(each)) as pool:
        return list(pool.map(one, each))
