"""Downloads: the readings as CSV, their comparison with the plan as CSV and JSON."""

from django.http import Http404, HttpResponse, JsonResponse, StreamingHttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from firings.queries.recorded import recorded_firing
from firings.recording_export import comparison_data, comparison_lines, reading_lines
from studio import access
from studio.csv_export import attached
from studio.requests import StudioRequest

CSV = "text/csv; charset=utf-8"


def _attached(name: str) -> dict[str, str]:
    return {
        "Content-Disposition": f'attachment; filename="{name}"',
        "X-Content-Type-Options": "nosniff",
        "Cache-Control": "private, no-store",
    }


@require_safe
def recording_csv(request: StudioRequest, pk: int) -> StreamingHttpResponse:
    """The cleaned series in the reader's unit, its times in the studio's zone."""
    access.require(request.user, "firing.see")
    seen = recorded_firing(pk)
    if not seen.recording.is_series:
        raise Http404
    lines = reading_lines(
        seen.recording,
        starts_at=seen.recorded.starts_at,
        unit=request.user.unit,
        zone=timezone.get_current_timezone(),
    )
    return attached(lines, f"firing-{pk}-recording.csv")


@require_safe
def comparison_csv(request: StudioRequest, pk: int) -> HttpResponse:
    access.require(request.user, "firing.see")
    seen = recorded_firing(pk)
    lines = comparison_lines(
        seen.recorded, unit=request.user.unit, zone=timezone.get_current_timezone()
    )
    return HttpResponse(
        "".join(lines), content_type=CSV, headers=_attached(f"firing-{pk}-comparison.csv")
    )


@require_safe
def comparison_json(request: StudioRequest, pk: int) -> JsonResponse:
    access.require(request.user, "firing.see")
    seen = recorded_firing(pk)
    data = comparison_data(seen.recorded, seen.comparison, zone=timezone.get_current_timezone())
    return JsonResponse(data, headers=_attached(f"firing-{pk}-comparison.json"))
