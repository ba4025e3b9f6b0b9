"""Classes: who teaches whom, and how students join."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from studio import access
from studio.actions import classes as actions
from studio.forms.classes import ClassForm, JoinForm
from studio.models import ClassMember, TeachingClass
from studio.queries.classes import class_page, classes_seen_by
from studio.receipts import once
from studio.requests import StudioRequest

CLASSES_A_PAGE = 30


def fetch_class(request: StudioRequest, pk: int, act: str = "class.see") -> TeachingClass:
    teaching_class = get_object_or_404(TeachingClass, pk=pk)
    access.require(request.user, act, teaching_class)
    return teaching_class


@require_GET
def class_list(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "class.see")
    page = Paginator(classes_seen_by(request.user), CLASSES_A_PAGE).get_page(
        request.GET.get("page")
    )
    return render(request, "studio/class_list.html", {"section": "people", "page": page})


@never_cache
@require_GET
def class_detail(request: StudioRequest, pk: int) -> HttpResponse:
    teaching_class = fetch_class(request, pk)
    path = reverse("studio:class_join_by", args=[teaching_class.joining_code])
    context = {
        "section": "people",
        "page": class_page(teaching_class),
        "teaching_class": teaching_class,
        "link": request.build_absolute_uri(path),
    }
    return render(request, "studio/class_detail.html", context)


@require_http_methods(["GET", "POST"])
@once
def class_add(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "class.make")
    form = ClassForm(request.POST or None, writer=request.user, unit=request.user.unit)
    if request.method == "POST" and form.is_valid():
        made = form.save()
        messages.success(request, f"“{made.name}” is made. Its code brings students in.")
        return redirect("studio:class_detail", made.pk)
    return render(request, "studio/class_add.html", {"section": "people", "form": form})


@require_http_methods(["GET", "POST"])
def class_change(request: StudioRequest, pk: int) -> HttpResponse:
    teaching_class = fetch_class(request, pk, "class.change")
    form = ClassForm(
        request.POST or None,
        instance=teaching_class,
        writer=request.user,
        unit=request.user.unit,
    )
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, "Saved.")
        return redirect("studio:class_detail", pk)
    context = {
        "section": "people",
        "form": form,
        "teaching_class": TeachingClass.objects.get(pk=pk),
    }
    return render(request, "studio/class_change.html", context)


@require_POST
def class_code_renew(request: StudioRequest, pk: int) -> HttpResponse:
    teaching_class = fetch_class(request, pk, "class.change")
    actions.code_renew(teaching_class=teaching_class)
    messages.success(request, "It has another code now; the one before opens nothing any more.")
    return redirect("studio:class_detail", pk)


@require_POST
def class_member_take_out(request: StudioRequest, pk: int) -> HttpResponse:
    member = get_object_or_404(
        ClassMember.objects.select_related("person", "teaching_class"), pk=pk
    )
    access.require(request.user, "class.change", member.teaching_class)
    actions.member_take_out(member=member)
    messages.success(
        request, f"{member.person.name} is out of the class. What they made stays theirs."
    )
    return redirect("studio:class_detail", member.teaching_class_id)


@never_cache
@require_http_methods(["GET", "POST"])
@once
def class_join(request: StudioRequest) -> HttpResponse:
    """By its code, typed in."""
    access.require(request.user, "class.join")
    form = JoinForm(request.POST or None, initial={"code": request.GET.get("code", "")})
    if request.method == "POST" and form.is_valid():
        try:
            joined = actions.class_join(person=request.user, code=form.cleaned_data["code"])
        except ValidationError as error:
            if error.code == "unknown":
                actions.wrong_code_note(person=request.user)
            form.add_error("code", error)
        else:
            messages.success(request, f"You are in “{joined.name}”.")
            return redirect("studio:class_detail", joined.pk)
    return render(request, "studio/class_join.html", {"section": "people", "form": form})


@never_cache
@require_GET
def class_join_by(request: StudioRequest, code: str) -> HttpResponse:
    """By its link: the code is filled in, and one button joins."""
    access.require(request.user, "class.join")
    form = JoinForm(initial={"code": code})
    return render(request, "studio/class_join.html", {"section": "people", "form": form})
