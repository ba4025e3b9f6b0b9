"""The description for machines, held against what the address really takes and answers."""

import re
from datetime import UTC, datetime
from typing import Any, get_args

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from firings.actions import logged_readings
from firings.forms.sent_readings import Reason
from firings.views.openapi import description
from studio.models import Person
from tests.factories import make_kiln
from tests.firings.sending import Logger, batch_of

OBJECTS = {"object": dict, "array": list, "string": str, "integer": int, "number": int | float}


@pytest.fixture
def logger(keeper: Person) -> Logger:
    return Logger(make_kiln(), keeper)


@pytest.fixture
def described(outsider: Client, db: None) -> dict[str, Any]:
    return outsider.get(reverse("firings:openapi")).json()


def mismatches(
    value: Any, schema: dict[str, Any], root: dict[str, Any], at: str = "$"
) -> list[str]:
    """Where a value is not what a schema says, by what of JSON Schema the description uses."""
    if "$ref" in schema:
        _, *names = schema["$ref"].split("/")
        for name in names:
            schema = root[name] if name == names[0] else schema[name]
    known = {"type", "required", "properties", "additionalProperties", "items", "minItems"}
    known |= {"maxItems", "enum", "minimum", "format", "description"}
    assert set(schema) <= known, f"{at}: {set(schema) - known} is not looked at"
    wanted = OBJECTS[schema["type"]]
    if not isinstance(value, wanted) or isinstance(value, bool):
        return [f"{at}: no {schema['type']}"]
    if isinstance(value, dict):
        return _of_an_object(value, schema, root, at)
    if isinstance(value, list):
        count = schema.get("minItems", 0) <= len(value) <= schema.get("maxItems", len(value))
        inner = [
            each
            for index, item in enumerate(value)
            for each in mismatches(item, schema["items"], root, f"{at}[{index}]")
        ]
        return inner + ([] if count else [f"{at}: {len(value)} items"])
    found = [] if value in schema.get("enum", [value]) else [f"{at}: {value} is not named"]
    if schema.get("format") == "date-time" and not re.fullmatch(
        r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)", value
    ):
        found.append(f"{at}: no date-time")
    if "minimum" in schema and value < schema["minimum"]:
        found.append(f"{at}: below {schema['minimum']}")
    return found


def _of_an_object(
    value: dict[str, Any], schema: dict[str, Any], root: dict[str, Any], at: str
) -> list[str]:
    properties = schema["properties"]
    found = [f"{at}: no {name}" for name in schema["required"] if name not in value]
    if not schema.get("additionalProperties", True):
        found += [f"{at}: {name} is not named" for name in value if name not in properties]
    for name in value.keys() & properties.keys():
        found += mismatches(value[name], properties[name], root, f"{at}.{name}")
    return found


def operation(described: dict[str, Any]) -> dict[str, Any]:
    [(_, path)] = described["paths"].items()
    return path["post"]


def test_it_names_the_address_and_every_reference_leads_somewhere(
    described: dict[str, Any],
) -> None:
    assert described["openapi"] == "3.1.0"
    assert list(described["paths"]) == ["/api/kilns/{kiln}/readings/"]
    assert reverse("firings:readings_take", args=[7]) == "/api/kilns/7/readings/"
    assert described["servers"] == [{"url": "http://testserver"}]
    for name in re.findall(r"#/components/schemas/(\w+)", str(described)):
        assert name in described["components"]["schemas"]


def test_every_reason_is_described() -> None:
    reasons = description("")["components"]["schemas"]["Refusal"]["properties"]["reason"]

    assert reasons["enum"] == list(get_args(Reason))


def test_what_it_describes_is_taken_and_what_it_forbids_is_not(
    described: dict[str, Any], logger: Logger
) -> None:
    content = operation(described)["requestBody"]["content"]
    schema = content["application/json"]["schema"]
    at = timezone.now().astimezone(UTC).isoformat()
    good = {"unit": "F", "readings": [{"at": at, "temperature": 1479.0}]}
    assert mismatches(good, schema, described) == []
    assert logger.post(good).json()["accepted"] == 1
    for bad in (
        {"readings": good["readings"]},
        good | {"unit": "K"},
        good | {"readings": []},
        good | {"readings": good["readings"] * 1001},
    ):
        assert mismatches(bad, schema, described) != []
        assert logger.post(bad).status_code == 422
    for worse in ({"at": at}, {"at": "noon", "temperature": 20}, {"at": at, "temperature": "20"}):
        assert mismatches(good | {"readings": [worse]}, schema, described) != []
        assert len(logger.post(good | {"readings": [worse]}).json()["refused"]) == 1


def test_every_answer_is_as_described(
    described: dict[str, Any], logger: Logger, keeper: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each status that the description has, but the one of a connection that breaks."""
    now = timezone.now().replace(microsecond=0)
    good, other = batch_of([(now, 500.0)]), Logger(make_kiln("Ibis"), keeper)
    old = datetime(2001, 1, 1, tzinfo=UTC)
    answers = [
        logger.post(good),
        logger.post(good),
        logger.post(batch_of([(now, 600.0), (old, 600.0)], "F")),
        logger.post(good, given="1.x"),
        logger.post(good, given=other.given),
        logger.client.get(reverse("firings:readings_take", args=[logger.kiln.pk])),
        logger.post(good, CONTENT_LENGTH=""),
        logger.post(good, CONTENT_LENGTH="300000"),
        logger.post(good, content_type="text/csv"),
        logger.post("{"),
    ]
    monkeypatch.setattr(logged_readings, "MOST_A_MINUTE", 1)
    answers.append(logger.post(good))

    told = operation(described)["responses"]
    assert {str(each.status_code) for each in answers} == set(told) - {"400"}
    for each in answers:
        described_as = told[str(each.status_code)]
        schema = described_as["content"][each["Content-Type"]]["schema"]
        assert mismatches(each.json(), schema, described) == [], each.content
        assert set(described_as.get("headers", {})) <= set(each.headers)
