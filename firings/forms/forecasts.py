"""Which forecasts are counted together."""

import django_filters

from firings.models import Forecast
from schedules.models import Process
from studio.models import Kiln


class ForecastFilter(django_filters.FilterSet):
    kiln = django_filters.ModelChoiceFilter(
        label="Kiln", queryset=Kiln.objects.all(), empty_label="all"
    )
    process = django_filters.ChoiceFilter(
        label="Process",
        field_name="revision__schedule__process",
        choices=Process,
        empty_label="all",
    )

    class Meta:
        model = Forecast
        fields: list[str] = []
