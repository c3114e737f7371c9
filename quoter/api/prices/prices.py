"""POST /v1/prices: what a job costs; nothing is kept."""

from typing import Any

from flask import Blueprint, Response

from quoter.api.http.auth import current_key
from quoter.api.http.fields import code
from quoter.api.http.limits import spend_form
from quoter.api.http.locale import reader_locale
from quoter.api.http.measures import count_refusals, measures
from quoter.api.http.operations import Answer, Operation, json_answer, json_body, operation
from quoter.api.http.problem_document import ApiProblem, problem_body
from quoter.api.http.services import services
from quoter.api.prices.document import audience_of, kept_document
from quoter.api.prices.examples import JOB_EXAMPLE
from quoter.api.prices.job_schema import JobSchema, Strict, job_of
from quoter.api.prices.price_schemas import PriceSchema
from quoter.problems import JobRefused
from quoter.records.access import FORM
from quoter.service.rates.shelf import Published

MOST_JOBS = 1000
MOST_JOBS_OF_A_FORM = 20

blueprint = Blueprint("prices", __name__)


class BookQuery(Strict):
    """Which rates."""

    book = code(load_default=None, metadata={"description": "Code of a rate book; the shop's first if absent"})


@operation(
    blueprint,
    Operation(
        id="priceJobs",
        method="POST",
        path="/v1/prices",
        summary="Price a job, or up to 1,000",
        description=(
            "Nothing is kept. A list is answered by a list in the same order, with a problem in the place of each job "
            "that is refused; a job alone that is refused is answered by the problem. A web form's list has 20 jobs at "
            "most."
        ),
        scopes=("desk", "form", "owner"),
        query=BookQuery(),
        body={"anyOf": [JobSchema(), [JobSchema(), MOST_JOBS]], "example": JOB_EXAMPLE},
        answers={200: Answer("The price, or the list of prices and problems", PriceSchema(), many=True)},
        problems=(400, 404, 413, 415, 422),
    ),
)
def price_jobs(query: dict[str, Any]) -> Response:
    """Prices what was sent."""
    published = services().shelf.named(query["book"])
    data = json_body()
    if not isinstance(data, list):
        return json_answer(_price(data, published))
    is_form = current_key().scope == FORM
    most = MOST_JOBS_OF_A_FORM if is_form else MOST_JOBS
    if len(data) > most:
        raise ApiProblem(422, "too-many", f"{len(data)} jobs are too many at once; {most} at most")
    if is_form and len(data) > 1:
        spend_form(current_key().id, len(data) - 1)  # the first has been counted as the request
    return json_answer([_price_or_problem(each, published) for each in data])


def _price(data: Any, published: Published) -> dict[str, Any]:
    quoting, book = services().quoting, published.book
    job = job_of(data, book, today=quoting.today(book), locale=reader_locale(book.locale))
    identity = {"code": book.code, "version": published.version, "digest": book.digest}
    result, job_data = quoting.price(job, published)
    measures().priced.inc()
    return kept_document(result, job_data, identity, job.locale, audience_of(current_key()))


def _price_or_problem(data: Any, published: Published) -> dict[str, Any]:
    try:
        return _price(data, published)
    except JobRefused as refused:
        count_refusals(refusal.reason for refusal in refused.refusals)
        return problem_body(refused)
