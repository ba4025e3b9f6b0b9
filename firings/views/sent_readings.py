"""The address to which loggers send: no person signs in there, and every answer is JSON."""

from http import HTTPStatus
from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, JsonResponse, UnreadablePostError
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.debug import sensitive_variables

from firings.actions.logged_readings import Taken, TooOftenError, logged_readings_take
from firings.actions.logger import logger_token_of
from firings.forms.sent_readings import LARGEST_BODY, Batch, BatchError, Refusal, read_batch
from firings.models import LoggerToken

LONGEST_NUMBER = 12


@csrf_exempt  # no cookie is looked at: the token in the header is all
@login_not_required
def readings_take(request: HttpRequest, pk: int) -> JsonResponse:
    """Readings of one kiln from one logger; see `openapi.json`."""
    if request.method != "POST":
        return _refused("method_not_allowed", "Send with POST.", status=405, Allow="POST")
    token = _token(request)
    if token is None:
        words = "Send a token that this logbook made, as “Authorization: Bearer …”."
        return _refused("no_token", words, status=401, **{"WWW-Authenticate": "Bearer"})
    if token.kiln_id != pk:
        return _refused("other_kiln", "This token is for another kiln.", status=403)
    try:
        batch = read_batch(_body(request))
        taken = logged_readings_take(token=token, batch=batch)
    except _NotReadError as error:
        return _refused(error.code, error.words, status=error.status)
    except BatchError as error:
        return _refused(error.code, error.words, status=422)
    except TooOftenError as error:
        words = f"Too many batches; send again in {error.wait_s} s."
        return _refused("too_often", words, status=429, **{"Retry-After": str(error.wait_s)})
    return JsonResponse(_told(taken, batch))


class _NotReadError(Exception):
    def __init__(self, code: str, words: str, status: int) -> None:
        self.code, self.words, self.status = code, words, status


@sensitive_variables("kind", "given")
def _token(request: HttpRequest) -> LoggerToken | None:
    kind, _, given = request.headers.get("Authorization", "").partition(" ")
    return logger_token_of(given.strip()) if kind.lower() == "bearer" else None


def _body(request: HttpRequest) -> bytes:
    packed = request.headers.get("Content-Encoding", "identity").lower() != "identity"
    if request.content_type != "application/json" or packed:
        raise _NotReadError("not_json", "Send application/json, not compressed.", 415)
    length = request.headers.get("Content-Length", "")
    if not length.isdecimal() or len(length) > LONGEST_NUMBER:
        raise _NotReadError("length_missing", "Say the length of the body.", 411)
    if int(length) > LARGEST_BODY:
        raise _NotReadError("too_large", f"At most {LARGEST_BODY // 1024} KB at once.", 413)
    try:
        return request.body
    except UnreadablePostError as error:
        raise _NotReadError("cut_off", "The body ended too early.", 400) from error


def _told(taken: Taken, batch: Batch) -> dict[str, Any]:
    return {
        "accepted": taken.accepted,
        "known": taken.known,
        "refused": [_refusal(each, batch) for each in taken.refused],
    }


def _refusal(refusal: Refusal, batch: Batch) -> dict[str, Any]:
    told: dict[str, Any] = {"index": refusal.index, "reason": refusal.reason}
    if refusal.known_c is not None:
        told["known"] = batch.in_unit(refusal.known_c)
    return told


def _refused(code: str, words: str, *, status: int, **headers: str) -> JsonResponse:
    told = {"error": code, "words": words}
    return JsonResponse(told, status=HTTPStatus(status), headers=headers)
