from collections.abc import Mapping

from django.db import transaction

from studio.models import Kiln, ServiceInterval


@transaction.atomic
def intervals_write(
    *, kiln: Kiln, intervals: Mapping[str, tuple[int | None, int | None]]
) -> list[ServiceInterval]:
    """After how many firings and hours each kind of service is due; none of both is never."""
    Kiln.objects.select_for_update().get(pk=kiln.pk)
    written = []
    for kind, (firings, hours) in intervals.items():
        if firings is None and hours is None:
            ServiceInterval.objects.filter(kiln=kiln, kind=kind).delete()
            continue
        interval = ServiceInterval.objects.filter(kiln=kiln, kind=kind).first()
        interval = interval or ServiceInterval(kiln=kiln, kind=kind)
        interval.every_firings, interval.every_hours = firings, hours
        interval.full_clean()
        interval.save()
        written.append(interval)
    return written
