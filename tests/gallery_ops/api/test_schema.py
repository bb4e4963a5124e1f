"""Is the description of the endpoints valid, and do they answer as it says?

The first is checked against the OpenAPI 3.1 meta-schema that drf-spectacular carries (published by
the OpenAPI Initiative); the second by schemathesis, which makes requests from the description and
holds each answer against it.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any

import pytest
import schemathesis
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from django.test import Client
from drf_spectacular.validation import validate_schema
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from gallery_ops.wsgi import application
from tests.gallery_ops.api.asking import a_morning, a_program
from tests.gallery_ops.api.test_orders import ordered

SCHEMA = "/api/v1/schema/"
READS = [
    *("tanks", "tanks/{code}", "layouts", "items", "items/{code}", "containers"),
    *("containers/{code}", "forecasts", "alerts", "alerts/{uid}", "due-tasks"),
    *("due-tasks/{uid}", "rounds", "rounds/{uid}", "rounds/{uid}/pack"),
    "emergencies",
    *("suppliers", "suppliers/{uid}", "orders", "orders/{uid}", "receipts", "receipts/{uid}"),
]
CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
]


def the_schema() -> dict[str, Any]:
    """As anybody gets it."""
    answer = Client().get(SCHEMA)
    assert answer.status_code == 200
    return dict(answer.json())


def test_the_description_is_valid_openapi_and_names_every_endpoint() -> None:
    schema = the_schema()
    validate_schema(schema)
    assert schema["openapi"].startswith("3.1")
    paths = {path.removeprefix("/api/v1/") for path in schema["paths"]}
    assert paths == {
        *READS,
        *("outbox", "alerts/{uid}/acknowledge", "orders/{uid}/lines"),
        *("tablet/sign-in", "tablet/tries", "photos/{sha256}"),
    }


def test_every_operation_says_how_it_refuses() -> None:
    for path, operations in the_schema()["paths"].items():
        for verb, operation in operations.items():
            answers = operation["responses"]
            assert {"401", "403"} <= set(answers), (verb, path)
            if "{" in path:
                assert "404" in answers, (verb, path)
            for status, answer in answers.items():
                if int(status) >= 400:
                    assert list(answer["content"]) == ["application/problem+json"]


def test_a_broken_description_is_found() -> None:
    schema = the_schema()
    schema["paths"]["/api/v1/tanks"]["get"]["responses"]["200"] = {"content": []}
    with pytest.raises(Exception, match="required property"):
        validate_schema(schema)


@pytest.fixture
def _connection_stays_open() -> Iterator[None]:
    """A request ends by closing the connection, and with it the transaction of the test."""
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    yield
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


@cache
def described() -> Any:
    """The description as the program gives it, read by a library; the same for every path."""
    return schemathesis.openapi.from_wsgi(SCHEMA, application)


@pytest.mark.once
@pytest.mark.django_db
@pytest.mark.usefixtures("_connection_stays_open")
@pytest.mark.parametrize("path", READS)
def test_answers_are_what_the_description_says(path: str) -> None:
    house = a_morning(tanks=2)
    ordered(house)
    headers = a_program(house, "read", "record")
    operation = described()[f"/api/v1/{path}"]["GET"]

    @settings(
        max_examples=12,
        deadline=None,
        database=None,
        derandomize=True,
        phases=[Phase.explicit, Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=operation.as_strategy())
    def ask(case: Any) -> None:
        answer = case.call(headers=headers)
        case.validate_response(answer, checks=CHECKS)

    ask()
