from pathlib import Path

from django.contrib.staticfiles import finders

from studio.finders import PLOTLY_NAME, PlotlyFinder


def test_plotlys_script_is_found_and_nothing_else_of_its_package() -> None:
    assert Path(finders.find(PLOTLY_NAME)).stat().st_size > 1_000_000
    assert [name for name, _ in PlotlyFinder().list([])] == [PLOTLY_NAME]
    assert not finders.find("vendor/datasets/iris.csv.gz")
