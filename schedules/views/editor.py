"""The page in which a schedule is begun, and the one in which its next revision is written."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from schedules.actions.revision import MovedOnError, revision_make
from schedules.actions.schedule import schedule_make
from schedules.forms.editor import FIRST_REASON, Editor
from schedules.forms.schedule import thickness_asked
from schedules.models import Revision
from schedules.queries.keying import shortened
from schedules.queries.preview import mending_of, preview_of
from schedules.queries.revision_page import chosen_kiln, kilns_for
from schedules.views.revision import newest_seen_by, revision_of, tell_moved_on
from studio import access
from studio.receipts import once


@require_http_methods(["GET", "POST"])
def schedule_add(request: HttpRequest) -> HttpResponse:
    access.require(request.user, "schedule.write")
    source = None
    if wanted := request.GET.get("from", ""):
        revisions = Revision.objects.select_related("schedule__family", "written_for")
        source = get_object_or_404(revisions, pk=wanted if wanted.isdecimal() else 0)
    if "do" in request.POST:
        return one_act(request, "schedules/schedule_add.html", _editor(request, source=source))
    return _schedule_save(request, source)


@once
def _schedule_save(request: HttpRequest, source: Revision | None) -> HttpResponse:
    editor = _editor(request, source=source)
    if request.method == "GET" and source is not None and "mend" in request.GET:
        editor = _mended(request, editor, source)
    if request.method == "POST" and editor.is_valid() and editor.facts is not None:
        data = editor.revision.cleaned_data
        try:
            schedule = schedule_make(
                owner=request.user,  # type: ignore[arg-type]
                **editor.facts.cleaned_data,
                segments=editor.written,
                unit=editor.unit,
                reason=data["reason"] or FIRST_REASON,
                written_for=data["written_for"],
                copied_from=source,
            )
        except ValidationError as error:
            editor.revision.add_error(None, error.messages)
        else:
            messages.success(request, f"{schedule} is on record as revision 1.")
            return redirect("schedules:schedule_detail", pk=schedule.pk)
    return render(request, "schedules/schedule_add.html", editor_context(editor))


@require_http_methods(["GET", "POST"])
def revision_copy(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    source = revision_of(request, pk, number, "schedule.revise")
    if "do" in request.POST:
        editor = _editor(request, source=source, next_revision=True)
        newest_seen = newest_seen_by(request, source)
        return one_act(request, "schedules/revision_copy.html", editor, newest_seen=newest_seen)
    return _revision_save(request, source)


@once
def _revision_save(request: HttpRequest, source: Revision) -> HttpResponse:
    editor = _editor(request, source=source, next_revision=True)
    newest_seen = newest_seen_by(request, source)
    if request.method == "GET" and "mend" in request.GET:
        editor = _mended(request, editor, source)
    elif request.method == "GET" and "joined" in request.GET:
        editor = _joined(request, editor, source)
    if request.method == "POST" and editor.is_valid():
        data = editor.revision.cleaned_data
        try:
            made = revision_make(
                schedule=source.schedule,
                by=request.user,  # type: ignore[arg-type]
                segments=editor.written,
                unit=editor.unit,
                reason=data["reason"],
                copied_from=source,
                written_for=data["written_for"],
                newest_seen=newest_seen,
            )
        except MovedOnError as moved:
            newest_seen = tell_moved_on(editor.revision, moved)
        except ValidationError as error:
            editor.revision.add_error(None, error.messages)
        else:
            messages.success(request, f"Revision {made.number} is on record.")
            return redirect("schedules:schedule_detail", pk=source.schedule_id)
    return render(
        request, "schedules/revision_copy.html", editor_context(editor, newest_seen=newest_seen)
    )


def _editor(
    request: HttpRequest, *, source: Revision | None, next_revision: bool = False
) -> Editor:
    return Editor(
        reader_unit=request.user.unit,  # type: ignore[union-attr]
        schedule=source.schedule if source is not None and next_revision else None,
        source=source,
        asked=thickness_asked(request.GET),
        data=request.POST if request.method == "POST" else None,
    )


def one_act(request: HttpRequest, page: str, editor: Editor, **context: Any) -> HttpResponse:
    """One act on the rows, or only the preview: as fragments, or, without script, as the page."""
    do = request.POST["do"]
    if do.startswith("mend-"):
        mending = mending_of(editor, do.removeprefix("mend-"))
        editor = editor.after(do) if mending is None else editor.with_segments(mending.written)
    else:
        editor = editor.after(do)
    if not request.htmx:  # type: ignore[attr-defined]
        return render(request, page, editor_context(editor, **context))
    only_preview = do == "preview"
    fragment = "schedules/_preview.html" if only_preview else "schedules/_segment_rows.html"
    return render(
        request,
        fragment,
        editor_context(editor, swapped=not only_preview, only_preview=only_preview, **context),
    )


def _mended(request: HttpRequest, editor: Editor, source: Revision) -> Editor:
    """With the change that the address asks for already made, and its reason; nothing is saved."""
    kiln = chosen_kiln(kilns_for(source), request.GET.get("kiln"))
    mending = mending_of(editor, request.GET["mend"], kiln)
    if mending is None:
        messages.warning(request, "That remark is not there any more; nothing was changed.")
        return editor
    return editor.with_segments(mending.written, mending.reason)


def _joined(request: HttpRequest, editor: Editor, source: Revision) -> Editor:
    """With segments joined for the kiln's controller, one of the ways that its card offers."""
    kiln, way = chosen_kiln(kilns_for(source), request.GET.get("kiln")), request.GET["joined"]
    made = shortened(source, kiln, int(way)) if kiln and way in ("0", "1") else None
    if made is None:
        messages.warning(request, "There is no such way to join them; nothing was changed.")
        return editor
    return editor.with_segments(*made)


def editor_context(editor: Editor, **context: Any) -> dict[str, Any]:
    preview = preview_of(editor.sent())
    return {
        "section": "schedules",
        "editor": editor,
        "source": editor.source,
        "schedule": editor.schedule,
        "preview": preview,
        "rows": preview.beside(editor.rows),
        **context,
    }
