from django.db.models import F, QuerySet, Window
from django.db.models.functions import RowNumber

from studio.models import Kiln, ServiceEntry
from studio.queries.names import ByName

WARN_OFFSET_C = 15.0


def kilns_in_order() -> QuerySet[Kiln]:
    """Those in service first."""
    return Kiln.objects.order_by("-in_service", ByName("name"), "pk")


def kilns_with_services() -> QuerySet[Kiln]:
    """The same with their diaries, which say whether an offset still stands."""
    return kilns_in_order().prefetch_related("service_entries")


def latest_services(kiln: Kiln) -> QuerySet[ServiceEntry]:
    """The newest entry of each kind: when the elements, the relays … were last seen to."""
    newest_first = Window(
        RowNumber(), partition_by=F("kind"), order_by=[F("done_on").desc(), F("pk").desc()]
    )
    return kiln.service_entries.annotate(rank=newest_first).filter(rank=1).order_by("-done_on")


def kiln_remarks(kiln: Kiln) -> list[str]:
    """Codes of what a reader should know of this record; `_kiln_remarks.html` has the words."""
    remarks = []
    if abs(kiln.known_offset_c) > WARN_OFFSET_C:
        remarks.append("offset_large")
    if kiln.offset_c and not kiln.offset_evidence:
        remarks.append("offset_unproven")
    if kiln.offset_void_since:
        remarks.append("offset_void")
    if not kiln.full_power_entry:
        remarks.append("full_power_unknown")
    return remarks
