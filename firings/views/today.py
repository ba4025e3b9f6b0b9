from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from firings.queries import today as queries
from firings.queries.clearing import firings_to_clear
from firings.queries.conversation import new_comments
from firings.queries.crops import with_latest_crop
from firings.queries.service_due import due_services
from firings.queries.steps import own_steps_soon
from firings.queries.storage import stays_of, stays_overdue
from firings.queries.telling import messages_for
from firings.queries.verdicts_in import verdicts_in
from studio import access
from studio.queries.shared_devices import untold_locks
from studio.requests import StudioRequest


@require_GET
def today(request: StudioRequest) -> HttpResponse:
    now = timezone.now()
    waiting = queries.pieces_waiting_for(request.user)
    teaches = access.may(request.user, "firing.clear")
    context = {
        "section": "today",
        "now": now,
        "steps": queries.first_steps(request.user),
        "kilns": queries.kilns_now(now),
        "waiting": with_latest_crop(waiting[: queries.MOST_WAITING]),
        "to_clear": firings_to_clear(request.user, request.studio) if teaches else [],
        "new_comments": new_comments(request.user).count(),
        "code_locks": untold_locks(request.user),
        "due": due_services(request.user),
        "told": messages_for(request.user, now),
        "stays": stays_of(request.user),
        "wanted": own_steps_soon(request.user),
        "overdue": stays_overdue() if access.may(request.user, "piece.see_overdue") else 0,
        "verdicts": verdicts_in(request.user, now),
        "planned": queries.planned_firings(request.user, now),
    }
    return render(request, "firings/today.html", context)
