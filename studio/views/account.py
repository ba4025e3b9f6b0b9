from django.conf import settings
from django.contrib import messages
from django.contrib.auth import views as auth_views
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse_lazy
from django.views.decorators.http import require_http_methods

from studio.forms.account import AccountForm, ChangedPasswordForm, NewPasswordForm
from studio.forms.people import SignInForm
from studio.models import Person
from studio.requests import StudioRequest


@login_not_required
@require_http_methods(["GET", "POST"])
def sign_in(request: HttpRequest) -> HttpResponseBase:
    if not Person.objects.exists():
        return redirect("studio:first_visit")
    view = auth_views.LoginView.as_view(
        template_name="studio/sign_in.html",
        authentication_form=SignInForm,
        redirect_authenticated_user=True,
        extra_context={"mail_works": settings.MAIL_WORKS},
    )
    return view(request)


@require_http_methods(["GET", "POST"])
def account(request: StudioRequest) -> HttpResponse:
    # A copy, so that a refused form leaves the name in the page's head as it is on record.
    person = Person.objects.get(pk=request.user.pk)
    form = AccountForm(request.POST or None, instance=person)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, "Your account is saved.")
        return redirect("studio:account")
    return render(request, "studio/account.html", {"form": form})


class SignOut(auth_views.LogoutView):
    """By POST only; leads to the sign-in page."""


class PasswordChange(auth_views.PasswordChangeView):
    template_name = "studio/password_change.html"
    form_class = ChangedPasswordForm
    success_url = reverse_lazy("studio:account")

    def form_valid(self, form: ChangedPasswordForm) -> HttpResponse:  # type: ignore[override]
        messages.success(self.request, "Your password is changed.")
        return super().form_valid(form)


class PasswordForgotten(auth_views.PasswordResetView):
    """Sends the link by e-mail; where there is no mail, the keeper makes one by hand."""

    template_name = "studio/password_forgotten.html"
    email_template_name = "studio/password_forgotten_mail.txt"
    subject_template_name = "studio/password_forgotten_subject.txt"
    success_url = reverse_lazy("studio:password_sent")

    def setup(self, request: HttpRequest, *args: object, **kwargs: object) -> None:
        super().setup(request, *args, **kwargs)
        if not settings.MAIL_WORKS:
            raise Http404
        studio = request.studio  # type: ignore[attr-defined]
        self.extra_email_context = {"studio": studio}


class PasswordSent(auth_views.PasswordResetDoneView):
    template_name = "studio/password_sent.html"


class PasswordSet(auth_views.PasswordResetConfirmView):
    """Where a reset link leads, from a mail or from the keeper; each works once, for a day."""

    template_name = "studio/password_set.html"
    form_class = NewPasswordForm
    success_url = reverse_lazy("studio:sign_in")

    def form_valid(self, form: NewPasswordForm) -> HttpResponse:  # type: ignore[override]
        messages.success(self.request, "Your new password is kept. Sign in with it.")
        return super().form_valid(form)
