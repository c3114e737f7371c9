"""What a quote may be, and who may issue it."""

from quoter.book import RateBook
from quoter.problems import Refusal
from quoter.quote import Quote


def beyond_the_desk(quote: Quote, book: RateBook) -> tuple[Refusal, ...]:
    """Why the owner alone may issue a quote: it is below the floor, or discounted beyond the policy."""
    refusals = []
    discount, most = quote.job.discount, book.policy.max_discount
    if discount and discount.rate > most:
        refusals.append(Refusal("needs-owner", "/discount/rate", f"a discount above {most} needs the owner's key"))
    if quote.economics.below_floor:
        refusals.append(Refusal("needs-owner", "", "below the shop's floor, the owner alone may issue"))
    return tuple(refusals)
