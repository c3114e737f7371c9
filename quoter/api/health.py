"""GET /healthz: the service answers; nothing else is touched."""

from flask import Blueprint, Response

from quoter.api.answers import HealthSchema
from quoter.api.operations import Answer, Operation, json_answer, operation

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
