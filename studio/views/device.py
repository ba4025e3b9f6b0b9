"""What a phone needs to stay useful without a network: who it belongs to now, and its worker."""

import hashlib

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.template.loader import render_to_string
from django.utils.cache import patch_cache_control
from django.views.decorators.cache import never_cache
from django.views.decorators.http import etag, require_GET


@login_not_required
@require_GET
@never_cache
def signed_in_now(request: HttpRequest) -> JsonResponse:
    """Who is signed in, and a token by which a form of theirs is taken.

    None for nobody: signed out, or on a studio device.
    """
    return JsonResponse({"person": request.user.pk or None, "token": get_token(request)})


def _worker() -> str:
    return render_to_string("studio/worker.js")


def _version(script: str) -> str:
    return hashlib.blake2s(script.encode(), digest_size=6).hexdigest()


@login_not_required
@require_GET
@etag(lambda request: f'"{_version(_worker())}"')
def worker(request: HttpRequest) -> HttpResponse:
    """The service worker, whose version rests on the addresses of the files that it keeps.

    It stands at the root, since a worker serves only what lies below its own address.
    """
    script = _worker()
    text = script.replace("{version}", _version(script))
    response = HttpResponse(text, content_type="text/javascript; charset=utf-8")
    patch_cache_control(response, no_cache=True)
    return response
