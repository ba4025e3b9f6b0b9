"""What a machine may ask of this logbook, described in OpenAPI 3.1."""

from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, JsonResponse
from django.urls import reverse
from django.views.decorators.http import require_safe

from firings.actions.logged_readings import KEPT_FOR, MOST_A_MINUTE
from firings.forms.sent_readings import LARGEST_BODY, MOST_READINGS, UNITS, Reason

REASONS: dict[Reason, str] = {
    "not_a_reading": "It is no object.",
    "time_not_understood": "Its time is no date-time of RFC 3339 with an offset, or with Z.",
    "time_in_the_future": "Its time lies more than ten minutes ahead: is the logger’s clock right?",
    "time_too_long_ago": f"Its time lies more than {KEPT_FOR.days} days back.",
    "temperature_not_understood": "Its temperature is no number.",
    "temperature_out_of_range": "Its temperature is below −20 °C or above 1400 °C.",
    "conflict": "Another temperature is known for its time, and stays: see `known`.",
}
REFUSED = {
    "400": "The body ended before its length.",
    "401": "Without a token that this logbook made, or with one that was taken back.",
    "403": "With a token for another kiln.",
    "405": "With another method than POST.",
    "411": "Without the length of the body.",
    "413": f"With a body of more than {LARGEST_BODY} bytes.",
    "415": "With a body that is not application/json, or is compressed.",
    "422": f"With a body that is no batch, or has more than {MOST_READINGS} readings.",
    "429": f"More than {MOST_A_MINUTE} batches of one token in a minute; `Retry-After` says when.",
}


@login_not_required
@require_safe
def openapi(request: HttpRequest) -> JsonResponse:
    return JsonResponse(description(request.build_absolute_uri("/").rstrip("/")))


def description(server: str) -> dict[str, Any]:
    address = reverse("firings:readings_take", args=[0]).replace("/0/", "/{kiln}/")
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Studio firing logbook",
            "version": "1",
            "description": "Readings from a data logger, while a kiln fires or afterwards.",
        },
        "servers": [{"url": server}],
        "paths": {address: {"parameters": [_kiln()], "post": _operation()}},
        "components": {
            "securitySchemes": {"loggerToken": {"type": "http", "scheme": "bearer"}},
            "schemas": {
                "Batch": _batch(),
                "Reading": _reading(),
                "Taken": _taken(),
                "Refusal": _refusal(),
                "Error": _error(),
            },
        },
    }


def _operation() -> dict[str, Any]:
    answers = {"200": _answer("Each reading was kept, known already, or refused.", "Taken")}
    answers |= {status: _answer(words, "Error") for status, words in REFUSED.items()}
    answers["401"]["headers"] = {"WWW-Authenticate": {"schema": {"type": "string"}}}
    answers["429"]["headers"] = {
        "Retry-After": {"description": "s", "schema": {"type": "integer", "minimum": 1}}
    }
    return {
        "operationId": "sendReadings",
        "summary": "Send readings of a kiln",
        "description": "A reading is known by its time: sent again it is counted as known and kept "
        "once. Once the answer says that it was accepted, it is on the disk.",
        "security": [{"loggerToken": []}],
        "requestBody": {
            "required": True,
            "content": {"application/json": {"schema": _schema("Batch")}},
        },
        "responses": answers,
    }


def _answer(words: str, schema: str) -> dict[str, Any]:
    return {"description": words, "content": {"application/json": {"schema": _schema(schema)}}}


def _schema(name: str) -> dict[str, str]:
    return {"$ref": f"#/components/schemas/{name}"}


def _kiln() -> dict[str, Any]:
    return {
        "name": "kiln",
        "in": "path",
        "required": True,
        "description": "The number of the kiln that the token is for.",
        "schema": {"type": "integer", "minimum": 1},
    }


def _object(properties: dict[str, Any], *, optional: tuple[str, ...] = ()) -> dict[str, Any]:
    required = [name for name in properties if name not in optional]
    return {"type": "object", "required": required, "properties": properties}


def _batch() -> dict[str, Any]:
    readings = {
        "type": "array",
        "minItems": 1,
        "maxItems": MOST_READINGS,
        "items": _schema("Reading"),
    }
    return _object({"unit": {"type": "string", "enum": list(UNITS)}, "readings": readings})


def _reading() -> dict[str, Any]:
    at = {"type": "string", "format": "date-time", "description": "Kept to the millisecond."}
    temperature = {"type": "number", "description": "What the kiln’s display shows, to 0.001 °C."}
    return _object({"at": at, "temperature": temperature})


def _taken() -> dict[str, Any]:
    count = {"type": "integer", "minimum": 0}
    refused = {"type": "array", "items": _schema("Refusal")}
    return _object({"accepted": count, "known": count, "refused": refused}) | {
        "additionalProperties": False
    }


def _refusal() -> dict[str, Any]:
    index = {"type": "integer", "minimum": 0, "description": "Of the reading in the batch, from 0."}
    words = " ".join(f"`{reason}`: {each}" for reason, each in REASONS.items())
    reason = {"type": "string", "enum": list(REASONS), "description": words}
    known = {"type": "number", "description": "With a conflict: what stands, in the batch’s unit."}
    properties = {"index": index, "reason": reason, "known": known}
    return _object(properties, optional=("known",)) | {"additionalProperties": False}


def _error() -> dict[str, Any]:
    properties = {
        "error": {"type": "string", "description": "A code for programs."},
        "words": {"type": "string", "description": "The same for people."},
    }
    return _object(properties) | {"additionalProperties": False}
