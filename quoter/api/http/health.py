"""GET /healthz: the service answers. GET /readyz: it can also read and write what it keeps."""

from flask import Blueprint, Response

from quoter.api.http.answers import HealthSchema
from quoter.api.http.operations import Answer, Operation, json_answer, operation
from quoter.api.http.problem_document import ApiProblem
from quoter.api.http.problems import RETRY_AFTER_SECONDS
from quoter.api.http.services import services

blueprint = Blueprint("health", __name__)


@operation(
    blueprint,
    Operation(
        id="health",
        method="GET",
        path="/healthz",
        summary="Does the service answer?",
        description="Touches neither the database nor the rate books.",
        scopes=(),
        answers={200: Answer("It does", HealthSchema())},
    ),
)
def health() -> Response:
    """It does."""
    return json_answer({"status": "ok"})


@operation(
    blueprint,
    Operation(
        id="readiness",
        method="GET",
        path="/readyz",
        summary="Can the service do its work?",
        description=(
            "Whether the database can be read and written, and a rate book counts. Where it cannot, 503 and "
            "Retry-After; why is in the log. Also 503 once the service has been told to stop."
        ),
        scopes=(),
        answers={200: Answer("It can", HealthSchema())},
        problems=(404, 503),
    ),
)
def readiness() -> Response:
    """It can."""
    if services().stopping.is_set():
        detail = "The service has been told to stop and takes nothing more on."
        raise ApiProblem(503, "unavailable", detail, headers={"Retry-After": RETRY_AFTER_SECONDS})
    services().check_usable()
    services().shelf.named(None)
    return json_answer({"status": "ok"}, headers={"Cache-Control": "no-store"})
