from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.tokens import default_token_generator
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from studio import access
from studio.actions import people as actions
from studio.forms.people import AnonymousForm, InvitationForm, NewPersonForm, RoleForm
from studio.models import Invitation, Person
from studio.queries.people import invitation_of, open_invitations, people_seen_by
from studio.receipts import once
from studio.requests import StudioRequest

PEOPLE_A_PAGE = 50
BACKEND = "django.contrib.auth.backends.ModelBackend"


def fetch_person(request: StudioRequest, pk: int, act: str = "person.see") -> Person:
    person = get_object_or_404(Person, pk=pk)
    access.require(request.user, act, person)
    return person


def fetch_invitation(request: StudioRequest, pk: int) -> Invitation:
    invitation = get_object_or_404(Invitation.objects.select_related("used_by"), pk=pk)
    access.require(request.user, "invitation.change", invitation)
    return invitation


@require_GET
def person_list(request: StudioRequest) -> HttpResponse:
    page = Paginator(people_seen_by(request.user), PEOPLE_A_PAGE).get_page(request.GET.get("page"))
    may_invite = access.may(request.user, "person.invite")
    invitations = open_invitations(request.user) if may_invite else []
    return render(
        request,
        "studio/person_list.html",
        {"section": "people", "page": page, "invitations": invitations},
    )


@require_GET
def person_detail(request: StudioRequest, pk: int) -> HttpResponse:
    person = fetch_person(request, pk)
    form = RoleForm(initial={"role": person.role})
    return render(
        request, "studio/person_detail.html", {"section": "people", "person": person, "form": form}
    )


@require_POST
def person_set_role(request: StudioRequest, pk: int) -> HttpResponse:
    person = fetch_person(request, pk, "person.set_role")
    form = RoleForm(request.POST)
    if form.is_valid():
        try:
            actions.person_set_role(person=person, role=form.cleaned_data["role"])
        except ValidationError as error:
            form.add_error("role", error)
        else:
            messages.success(request, f"{person.name} is {person.get_role_display()} now.")
            return redirect("studio:person_detail", pk)
    person.refresh_from_db()
    context = {"section": "people", "person": person, "form": form}
    return render(request, "studio/person_detail.html", context)


@require_POST
def person_deactivate(request: StudioRequest, pk: int) -> HttpResponse:
    person = fetch_person(request, pk, "person.deactivate")
    try:
        actions.person_deactivate(person=person)
    except ValidationError as error:
        messages.error(request, error.messages[0])
    else:
        messages.success(request, f"{person.name} can’t sign in any more.")
    return redirect("studio:person_detail", pk)


@require_POST
def person_activate(request: StudioRequest, pk: int) -> HttpResponse:
    person = fetch_person(request, pk, "person.deactivate")
    person.is_active = True
    person.save(update_fields=["is_active"])
    messages.success(request, f"{person.name} can sign in again.")
    return redirect("studio:person_detail", pk)


@require_http_methods(["GET", "POST"])
def person_make_anonymous(request: StudioRequest, pk: int) -> HttpResponse:
    person = fetch_person(request, pk, "person.make_anonymous")
    form = AnonymousForm(request.POST or None, person=person)
    if request.method == "POST" and form.is_valid():
        try:
            actions.person_make_anonymous(person=person)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, "Nobody is told any more who that was.")
            return redirect("studio:person_detail", pk)
    context = {"section": "people", "person": person, "form": form}
    return render(request, "studio/person_make_anonymous.html", context)


@never_cache
@require_POST
def reset_link_make(request: StudioRequest, pk: int) -> HttpResponse:
    """Shows the link once, in the answer itself: it is kept nowhere."""
    person = fetch_person(request, pk, "person.reset_password")
    token = default_token_generator.make_token(person)
    who = urlsafe_base64_encode(force_bytes(person.pk))
    link = request.build_absolute_uri(reverse("studio:password_set", args=[who, token]))
    context = {"section": "people", "person": person, "link": link}
    return render(request, "studio/reset_link.html", context)


@require_http_methods(["GET", "POST"])
@once
def invitation_make(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "person.invite")
    asked = {"teaching_class": request.GET.get("teaching_class")}
    form = InvitationForm(request.POST or None, inviter=request.user, initial=asked)
    if request.method == "POST" and form.is_valid():
        return redirect("studio:invitation_detail", form.save().pk)
    return render(request, "studio/invitation_make.html", {"section": "people", "form": form})


@never_cache
@require_GET
def invitation_detail(request: StudioRequest, pk: int) -> HttpResponse:
    invitation = fetch_invitation(request, pk)
    path = reverse("studio:invitation_accept", args=[invitation.token])
    link = request.build_absolute_uri(path)
    context = {"section": "people", "invitation": invitation, "link": link}
    return render(request, "studio/invitation_detail.html", context)


@require_POST
def invitation_withdraw(request: StudioRequest, pk: int) -> HttpResponse:
    invitation = fetch_invitation(request, pk)
    try:
        actions.invitation_withdraw(invitation=invitation)
    except ValidationError as error:
        messages.error(request, error.messages[0])
    else:
        messages.success(request, f"The invitation for {invitation.invited_for} is withdrawn.")
    return redirect("studio:person_list")


@login_not_required
@never_cache
@sensitive_post_parameters("password1", "password2")
@require_http_methods(["GET", "POST"])
def invitation_accept(request: HttpRequest, token: str) -> HttpResponse:
    invitation = invitation_of(token)
    if invitation is None:
        raise Http404
    if request.user.is_authenticated and invitation.used_by_id == request.user.pk:
        return redirect("firings:today")  # their own form, sent a second time
    if not invitation.is_open:
        return render(request, "studio/invitation_gone.html", status=410)
    known = {"name": invitation.invited_for, "email": invitation.email}
    form = NewPersonForm(request.POST or None, initial=known)
    if request.method == "POST" and form.is_valid():
        try:
            person = actions.invitation_accept(invitation=invitation, **form.of_person())
        except actions.InvitationGoneError:
            return render(request, "studio/invitation_gone.html", status=410)
        except ValidationError as error:  # the sign-in name was taken since the form looked
            form.add_error(None, error)
        else:
            login(request, person, backend=BACKEND)
            return redirect("firings:today")
    context = {"form": form, "invitation": invitation}
    return render(request, "studio/invitation_accept.html", context)
