"""What the form without scripts says of a price and of what is wrong."""

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from quoter.api.enquiries.enquiry_document import indication_text
from quoter.messages import Message
from quoter.problems import Refusal
from quoter.words.shown import TextOf
from quoter.words.wording import Wording

SECONDS_IN_A_MINUTE = 60

_CODE = re.compile(r"[\w.-]{1,40}", re.ASCII)
"""What is said again of an address: a code at most, so that no link makes the shop's page say anything else."""

ABOUT_ALL = {
    "forged": Message("The form did not come from this page. Open the page itself and try again."),
    "too-early": Message("That was very quick. Please look it over, and send it once more."),
    "form-expired": Message("The page was open for a long time. Please look it over, and send it once more."),
    "form-unknown": Message("The page was open for a long time. Please look it over, and send it once more."),
    "form-used": Message("What you sent before has arrived. Send again, and what you changed arrives as well."),
    "looks-automatic": Message("Something had filled in a hidden field. It is empty again: please send once more."),
}
"""By reason: what is said of the form as a whole."""

BY_FIELD = {
    "/contact": Message("Please write a phone number or an email address, so that we can reach you."),
    "/contact/phone": Message("Please write the number in digits."),
    "/contact/email": Message("Please write an email address such as name@example.org."),
    "/may_be_contacted": Message("Please tick that you agree; without it we may not keep what you write."),
}

BY_REASON = {
    "grade-not-available": Message("There is no part for this just now."),
    "part-required": Message("There is no part for this just now."),
    "contradiction": Message("Two of these wishes exclude each other."),
    "stopped-by-finding": Message("We cannot work on the device as it is."),
}

OTHER = Message("Something is missing here, or not written as it should be.")
NOT_SENT = Message("Not sent yet: please look at the marked fields.")


def price_words(result: Mapping[str, Any], job: Mapping[str, Any], wording: Wording) -> dict[str, Any]:
    """A priced job for its customer: every figure as text, nothing of the shop's own."""
    texts = TextOf(result, job, wording).quote()
    say, time = wording.say, texts["time"]["elapsed"]
    ready = say("Once all parts are here, ready in about {time}", time=time)
    return {
        "device": texts["device"],
        "repairs": [TextOf(result, job, wording).procedure(each["procedure"]) for each in job["repairs"]],
        "amount": say("About {amount}", amount=texts["totals"]["gross"]),
        "tax": _tax_words(result, texts, wording),
        "parts": say("All parts are here in {time}", time=texts["lead_time"]) if result["lead_days"] else "",
        "ready": ready if result["lead_days"] else say("Ready in about {time}", time=time),
        "indication": indication_text(wording, texts["ceiling"].get("gross")),
        "cautions": [each["customer"] for each in texts["cautions"]],
    }


def refused_sentence(refusals: tuple[Refusal, ...], wording: Wording) -> str:
    """What is said above the form; "" where all is well."""
    if not refusals:
        return ""
    first = refusals[0]
    if first.reason == "too-many-requests":
        minutes = max(1, -(-int(first.detail) // SECONDS_IN_A_MINUTE))
        later = wording.plural("Please try again in {n} minute.", "Please try again in {n} minutes.", minutes)
        return f"{wording.say('Too much has been sent from here.')} {later}"
    return wording.text(ABOUT_ALL.get(first.reason, NOT_SENT))


def fault_sentence(refusal: Refusal, wording: Wording) -> str:
    """What is wrong with a field."""
    return wording.text(BY_FIELD.get(refusal.pointer) or BY_REASON.get(refusal.reason) or OTHER)


def erasure_sentence(kept_days: int, wording: Wording) -> str:
    """When what a visitor writes is erased; with 0 days nothing erases it by itself."""
    if not kept_days:
        return wording.say("It is kept until you ask the shop to erase it.")
    return wording.plural(
        "If no quote is agreed to, it is erased once nothing has happened for {n} day; otherwise the shop keeps it.",
        "If no quote is agreed to, it is erased once nothing has happened for {n} days; otherwise the shop keeps it.",
        kept_days,
    )


def lost_sentence(unknown: tuple[str, ...], wording: Wording) -> str:
    """That a link named what the rates do not have, which may have been a warning; "" where it named nothing such."""
    if not unknown:
        return ""
    return wording.say(
        "The link to this page names something that the shop does not have on its list: {codes}. "
        "Please check that everything is ticked, above all what you have noticed.",
        codes=", ".join(each if _CODE.fullmatch(each) else "…" for each in unknown),
    )


def _tax_words(result: Mapping[str, Any], texts: Mapping[str, Any], wording: Wording) -> str:
    """How much of it is tax, in the way that prices are shown at the shop's place."""
    say, totals, law = wording.say, texts["totals"], result.get("law") or {}
    if not Decimal(result["totals"]["tax"]):
        return ""
    if law.get("tax_in_price", result["display"] == "inclusive"):
        return say("including {tax} tax", tax=totals["tax"])
    return say("{net} and {tax} tax", net=totals["net"], tax=totals["tax"])
