"""Links of the description (OpenAPI 3.1, section 4.8.20): which calls take what an answer says, and where it stands."""

import re
from typing import Any

from quoter.api.http.operations import OPERATIONS, Operation

NAMED_IN = {
    "quote_id": {
        "issueQuote": "$response.body#/id",
        "quoteEnquiry": "$response.body#/id",
        "listQuotes": "$response.body#/quotes/0/id",
        "readQuote": "$request.path.quote_id",
    },
    "enquiry_id": {
        "listEnquiries": "$response.body#/enquiries/0/id",
        "readEnquiry": "$request.path.enquiry_id",
    },
    "webhook_id": {
        "registerWebhook": "$response.body#/id",
        "readWebhook": "$request.path.webhook_id",
    },
    "effect_id": {"askEffect": "$response.body#/id"},
    "place": {"tryWebhook": "$response.body#/place"},
}
"""By the parameter that a path takes: in the answers of which operations it stands, and where."""

READING = ("readQuote", "readEnquiry", "readWebhook")
"""Their answers lead on to what changes the thing that was read, for which they have the ETag."""


def links_of(declared: Operation, status: int) -> dict[str, Any]:
    """Where an answer leads, by operation: to those whose path takes nothing but what is named in it."""
    answer = declared.answers.get(status)
    if answer is None or status >= 300:
        return {}
    found = {}
    for parameter, sources in NAMED_IN.items():
        if declared.id in sources:
            for target in _taking(parameter, declared):
                found[target.id] = _link(target, {parameter: sources[declared.id]}, has_tag="ETag" in answer.headers)
    return found


def _taking(parameter: str, source: Operation) -> list[Operation]:
    """What takes this parameter alone; of what only reads, the changes of what was read."""
    taking = [each for each in OPERATIONS.values() if re.findall(r"{(\w+)}", each.path) == [parameter]]
    found = [each for each in taking if each.if_match] if source.id in READING else taking
    return sorted(found, key=lambda each: each.id)


def _link(target: Operation, parameters: dict[str, str], *, has_tag: bool) -> dict[str, Any]:
    tag = {"If-Match": "$response.header.ETag"} if target.if_match and has_tag else {}
    return {"operationId": target.id, "parameters": parameters | tag}
