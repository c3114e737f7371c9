"""The owner's page of webhooks: who is told what, and how it goes. What changes something goes through the API."""

from typing import Any

from flask import Blueprint, Response

from quoter.api.http.services import services
from quoter.api.webhooks.webhook_document import delivery_data
from quoter.api.webhooks.webhook_schemas import LONGEST_NOTE
from quoter.api.webhooks.webhooks import shown, tag_of
from quoter.pages.frame import not_kept, page
from quoter.pages.visitors import for_owner
from quoter.records.webhooks import ANNOUNCED, DeliveryFilter, Webhook
from quoter.service.webhooks.addresses import LONGEST_ADDRESS
from quoter.words.catalogues import ENGLISH
from quoter.words.wording import wording_for

blueprint = Blueprint("owner_webhooks", __name__)
blueprint.after_request(not_kept)

MOST_DEAD = 50
"""Dead deliveries of a webhook that the page lists; the newest."""

EVENTS = {
    "quote.issued": "a quote is issued",
    "quote.revised": "a quote is revised",
    "quote.decided": "a quote is accepted, declined or withdrawn",
    "quote.expired": "a quote expires undecided",
    "enquiry.received": "an enquiry comes in",
    "book.published": "a version of a rate book is published",
}
"""In words, for each of `ANNOUNCED`."""


@blueprint.get("/owner/webhooks")
@for_owner
def webhooks() -> Response:
    """Every webhook with what did not arrive."""
    use = services().webhooks
    return page(
        "owner/webhooks.html",
        wording=wording_for(ENGLISH),
        webhooks=[_shown(each) for each in use.all()],
        events={kind: EVENTS[kind] for kind in ANNOUNCED},
        networks=[str(each) for each in use.addresses.networks],
        longest_address=LONGEST_ADDRESS,
        longest_note=LONGEST_NOTE,
        zone="UTC",
    )


def _shown(webhook: Webhook) -> dict[str, Any]:
    wanted = DeliveryFilter(webhook=webhook.id, limit=MOST_DEAD, state="dead")
    dead = [delivery_data(each) for each in services().webhooks.find(wanted)]
    return shown(webhook) | {"tag": tag_of(webhook), "letters": dead}
