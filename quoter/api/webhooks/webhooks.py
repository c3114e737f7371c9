"""Webhooks: registered, changed, ended; their secrets are shown once, and what did not arrive is sent again."""

import datetime as dt
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from flask import Blueprint, Response

from quoter.api.http.auth import current_key
from quoter.api.http.conditions import if_match, matches
from quoter.api.http.operations import Answer, Operation, json_answer, loaded_body, operation
from quoter.api.http.paging import LINK, key_of, next_link
from quoter.api.http.problem_document import ApiProblem
from quoter.api.http.services import services
from quoter.api.rates.books import OWNER
from quoter.api.webhooks.webhook_document import delivery_data, webhook_data
from quoter.api.webhooks.webhook_schemas import (
    ChangeWebhookSchema,
    DeliveriesQuery,
    DeliveryPageSchema,
    DeliverySchema,
    RegisterWebhookSchema,
    RotateSecretSchema,
    SentAgainSchema,
    WebhookListSchema,
    WebhookSchema,
    WebhookWithSecretSchema,
)
from quoter.problems import AddressRefused, ChangedMeanwhile, Refusal
from quoter.records.webhooks import DeliveryFilter, Webhook
from quoter.service.clock import stamp

blueprint = Blueprint("webhooks", __name__)

ETAG = {"ETag": "The version of the webhook, for If-Match"}
EXAMPLE = {
    "address": "https://books.example.org/told",
    "events": ["quote.issued", "quote.decided"],
    "note": "the accounts",
}


def tag_of(webhook: Webhook) -> str:
    """What a webhook is at a moment, as an entity tag."""
    return f'"{webhook.version}"'


def shown(webhook: Webhook) -> dict[str, Any]:
    """A webhook as it stands now."""
    use = services().webhooks
    return webhook_data(webhook, use.progress(webhook), stamp(use.now()))


def _answer(
    webhook: Webhook, status: int = 200, *, secret: bool = False, headers: dict[str, str] | None = None
) -> Response:
    """A webhook with its ETag. A secret is not to be kept on the way."""
    data = shown(webhook) | ({"secret": webhook.secret} if secret else {})
    unkept = {"Cache-Control": "no-store"} if secret else {}
    return json_answer(data, status, {"ETag": tag_of(webhook), **unkept, **(headers or {})})


@contextmanager
def _unchanged(webhook_id: str) -> Iterator[Webhook]:
    """The webhook, if the caller has seen it as it is. Raises problems 428 and 412."""
    wanted, use = if_match("webhook"), services().webhooks
    webhook = use.get(webhook_id)
    if not matches(wanted, tag_of(webhook)):
        raise _changed(webhook)
    try:
        yield webhook
    except ChangedMeanwhile:
        raise _changed(use.get(webhook_id)) from None


def _changed(webhook: Webhook) -> ApiProblem:
    detail = f"the webhook is not what you have seen: it is at version {webhook.version}"
    return ApiProblem(412, "changed-meanwhile", detail, headers={"ETag": tag_of(webhook)})


@operation(
    blueprint,
    Operation(
        id="registerWebhook",
        method="POST",
        path="/v1/webhooks",
        summary="Register an address that is told what happens",
        description=(
            "From now on announcements of these kinds are sent there, signed with the secret in this answer, which is "
            "shown this once. The address must be one of the open internet, unless the settings name its network. An "
            "address has one webhook: 409 names the one that is there."
        ),
        scopes=OWNER,
        body={"anyOf": [RegisterWebhookSchema()], "example": EXAMPLE},
        answers={
            201: Answer(
                "The webhook with its secret",
                WebhookWithSecretSchema(),
                headers={"Location": "Where the webhook is", **ETAG},
            )
        },
        problems=(400, 409, 413, 415, 422),
        repeatable=True,
    ),
)
def register_webhook() -> Response:
    """Keeps an address."""
    sent = loaded_body(RegisterWebhookSchema(), _of_address)
    webhook = services().webhooks.register(sent["address"], sent["events"], sent.get("note", ""), current_key().name)
    return _answer(webhook, 201, secret=True, headers={"Location": f"/v1/webhooks/{webhook.id}"})


def _of_address(sent: dict[str, Any]) -> tuple[Refusal, ...]:
    """What is wrong with an address that stands beside something else that is wrong."""
    try:
        services().webhooks.addresses.target(sent.get("address", ""))
    except AddressRefused as refused:
        return refused.refusals
    return ()


@operation(
    blueprint,
    Operation(
        id="listWebhooks",
        method="GET",
        path="/v1/webhooks",
        summary="Every webhook",
        description="The oldest first, each with how deliveries to it stand. Secrets are never shown again.",
        scopes=OWNER,
        answers={200: Answer("The webhooks", WebhookListSchema())},
    ),
)
def list_webhooks() -> Response:
    """All of them: there are few."""
    return json_answer({"webhooks": [shown(each) for each in services().webhooks.all()]})


@operation(
    blueprint,
    Operation(
        id="readWebhook",
        method="GET",
        path="/v1/webhooks/{webhook_id}",
        summary="Read a webhook",
        description="What it wants to be told, and how deliveries to it stand.",
        scopes=OWNER,
        answers={200: Answer("The webhook", WebhookSchema(), headers=ETAG)},
        problems=(404,),
    ),
)
def read_webhook(webhook_id: str) -> Response:
    """One webhook."""
    return _answer(services().webhooks.get(webhook_id))


@operation(
    blueprint,
    Operation(
        id="changeWebhook",
        method="PATCH",
        path="/v1/webhooks/{webhook_id}",
        summary="Change a webhook",
        description=(
            "Other events, another note, paused or resumed. While it is paused, announcements wait, and are sent in "
            "their order when it is resumed. Another address is another webhook."
        ),
        scopes=OWNER,
        body={"anyOf": [ChangeWebhookSchema()], "example": {"paused": True}},
        answers={200: Answer("The webhook after it", WebhookSchema(), headers=ETAG)},
        problems=(400, 404, 412, 413, 415, 422, 428),
        if_match=True,
    ),
)
def change_webhook(webhook_id: str) -> Response:
    """Keeps what shall be otherwise."""
    sent = loaded_body(ChangeWebhookSchema())
    with _unchanged(webhook_id) as seen:
        after = services().webhooks.change(seen, **sent)
    return _answer(after)


@operation(
    blueprint,
    Operation(
        id="endWebhook",
        method="DELETE",
        path="/v1/webhooks/{webhook_id}",
        summary="End a webhook",
        description="For good: what still waits for it is given up, and its secrets are forgotten.",
        scopes=OWNER,
        answers={204: Answer("It has ended")},
        problems=(404, 412, 428),
        if_match=True,
    ),
)
def end_webhook(webhook_id: str) -> Response:
    """Nothing is sent there any more."""
    with _unchanged(webhook_id) as seen:
        services().webhooks.end(seen)
    return Response(status=204)


@operation(
    blueprint,
    Operation(
        id="rotateWebhookSecret",
        method="POST",
        path="/v1/webhooks/{webhook_id}/secret",
        summary="Give a webhook another secret",
        description=(
            "The new one is shown this once. Until the overlap is over everything is signed with both, so that the "
            "receiver can change over without missing anything."
        ),
        scopes=OWNER,
        body={"anyOf": [RotateSecretSchema()], "example": {"overlap_hours": 24}},
        answers={200: Answer("The webhook with its new secret", WebhookWithSecretSchema(), headers=ETAG)},
        problems=(400, 404, 412, 413, 415, 422, 428),
        if_match=True,
        repeatable=True,
    ),
)
def rotate_secret(webhook_id: str) -> Response:
    """A new secret."""
    overlap = dt.timedelta(hours=loaded_body(RotateSecretSchema())["overlap_hours"])
    with _unchanged(webhook_id) as seen:
        after = services().webhooks.rotate(seen, overlap)
    return _answer(after, secret=True)


@operation(
    blueprint,
    Operation(
        id="tryWebhook",
        method="POST",
        path="/v1/webhooks/{webhook_id}/trial",
        summary="Try a webhook",
        description="Sends an announcement of the kind `webhook.trial` to it alone, like any other.",
        scopes=OWNER,
        answers={202: Answer("The delivery, which is on its way", DeliverySchema())},
        problems=(404, 409),
        repeatable=True,
    ),
)
def try_webhook(webhook_id: str) -> Response:
    """Sends something that says nothing."""
    use = services().webhooks
    return json_answer(delivery_data(use.try_out(use.get(webhook_id))), 202)


@operation(
    blueprint,
    Operation(
        id="listDeliveries",
        method="GET",
        path="/v1/webhooks/{webhook_id}/deliveries",
        summary="What is on its way to a webhook, what arrived, and what did not",
        description="The newest first. Dead: given up after the last attempt; it can be sent again.",
        scopes=OWNER,
        query=DeliveriesQuery(),
        answers={200: Answer("A page of deliveries", DeliveryPageSchema(), headers=LINK)},
        problems=(404, 422),
    ),
)
def list_deliveries(webhook_id: str, query: dict[str, Any]) -> Response:
    """A page of deliveries."""
    use, limit = services().webhooks, query["limit"]
    webhook, before = use.get(webhook_id), key_of(query["after"], _is_place)
    wanted = DeliveryFilter(
        webhook=webhook.id, limit=limit + 1, before=int(before) if before else None, state=query["state"]
    )
    found = use.find(wanted)
    page = found[:limit]
    headers = next_link(str(page[-1].place)) if len(found) > len(page) else {}
    return json_answer({"deliveries": [delivery_data(each) for each in page]}, headers=headers)


def _is_place(key: str) -> bool:
    return key.isascii() and key.isdecimal() and len(key) < 19


@operation(
    blueprint,
    Operation(
        id="sendAgain",
        method="POST",
        path="/v1/deliveries/{place}/sending",
        summary="Send a delivery again",
        description=(
            "At once, under the same id, whatever has become of it: also one that arrived, for a receiver that has "
            "lost it. Later ones about the same thing wait for it."
        ),
        scopes=OWNER,
        answers={202: Answer("The delivery, which is on its way", DeliverySchema())},
        problems=(404,),
        repeatable=True,
    ),
)
def send_again(place: int) -> Response:
    """One delivery is due again."""
    return json_answer(delivery_data(services().webhooks.send_again(place)), 202)


@operation(
    blueprint,
    Operation(
        id="sendDeadAgain",
        method="POST",
        path="/v1/webhooks/{webhook_id}/sending",
        summary="Send every dead delivery of a webhook again",
        description="At once, each under its own id, in their order for each thing that they are about.",
        scopes=OWNER,
        answers={202: Answer("How many are on their way", SentAgainSchema())},
        problems=(404,),
        repeatable=True,
    ),
)
def send_dead_again(webhook_id: str) -> Response:
    """All that were given up are due again."""
    use = services().webhooks
    return json_answer({"deliveries": use.send_dead_again(use.get(webhook_id))}, 202)
