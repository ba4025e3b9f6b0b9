import importlib.util
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.contrib.staticfiles.finders import BaseFinder
from django.core.exceptions import ImproperlyConfigured
from django.core.files.storage import FileSystemStorage

PLOTLY_NAME = "vendor/plotly.min.js"


class PlotlyFinder(BaseFinder):
    """Serves the one script that the plotly package carries, and nothing else of it."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        spec = importlib.util.find_spec("plotly")
        if spec is None or spec.origin is None:
            raise ImproperlyConfigured("The plotly package is not installed.")
        self.storage = PlotlyStorage(Path(spec.origin).parent / "package_data")

    def find(self, path: str, find_all: bool = False, **kwargs: Any) -> Any:
        if path != PLOTLY_NAME:
            return []
        found = self.storage.path(PLOTLY_NAME)
        return [found] if find_all else found

    def list(self, ignore_patterns: Any) -> Iterator[tuple[str, FileSystemStorage]]:
        yield PLOTLY_NAME, self.storage


class PlotlyStorage(FileSystemStorage):
    """The package's data folder, its file seen under the name that the site gives it."""

    def path(self, name: str) -> str:
        return super().path(name.removeprefix("vendor/"))
