"""What is said about each type of problem to people: what it means, what to do, which statuses it comes with."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ProblemPage:
    """The page at the address that is a problem's `type`: its meaning, what to do, and the statuses it comes with."""

    meaning: str
    remedy: str
    statuses: tuple[int, ...] = (422,)


ASK_AGAIN = "Read the thing again, look at `meanwhile`, and decide anew: what you wanted may have changed."

PROBLEM_PAGES: dict[str, ProblemPage] = {
    "unknown-code": ProblemPage(
        "A device, procedure, grade, part or finding was named by a code that the rate book does not have.",
        "Take a code from `allowed`, or ask for the device (GET /v1/devices/{code}): it lists what there is. "
        "Codes belong to a rate book, so look also whether `book` names the one that was meant.",
    ),
    "not-offered": ProblemPage(
        "The shop does not do this repair on this device.",
        "Choose among the procedures in `allowed`. An owner can offer it in the table `offers` of the rate book.",
    ),
    "given-twice": ProblemPage(
        "The same repair, finding or part stands in the job more than once, and twice means nothing more than once.",
        "Send it once.",
    ),
    "part-does-not-fit": ProblemPage(
        "The part that was chosen is not one for this device, or not one for this slot.",
        "Choose a SKU from `allowed`, or leave the part out: then the rate book's preferred one is taken.",
    ),
    "grade-not-available": ProblemPage(
        "There are parts for this repair, but none of the grade that was asked for.",
        "Choose a grade from `allowed`, or leave the grade out.",
    ),
    "part-required": ProblemPage(
        "A step of the repair needs a part. The job does without it, or the rate book has none that fits, and "
        "there is no other way to do the step.",
        "Choose a part for the slot that the pointer names, or leave the choice out. Where there is none at all, "
        "the owner must add one to the rate book, or a step that does without.",
    ),
    "stopped-by-finding": ProblemPage(
        "What was seen on the device makes it dangerous or pointless to work on. There is no price on purpose.",
        "Do what `caution` says, first and at once. Do not take the finding out of the job to get a price.",
    ),
    "contradiction": ProblemPage(
        "Two wishes of the job exclude each other, such as a grade and a part that is of another.",
        "Drop one of the two. `allowed` says what would go with the other.",
    ),
    "out-of-range": ProblemPage(
        "A number or a day is of the right form but outside what makes sense, such as a discount above the whole "
        "price.",
        "Look for a slip of the keyboard at the place that the pointer names.",
    ),
    "needs-owner": ProblemPage(
        "A reason within a problem of the type not-allowed: the price is below the shop's floor, or the discount "
        "beyond what its policy leaves to the desk.",
        "Let somebody issue it with the owner's key, or change the job. Prices may be asked for by anybody.",
        (403,),
    ),
    "no-tax-rate": ProblemPage(
        "The tax profile of the rate book has no rate for the day of the job.",
        "Leave `date` out or choose a later day. The owner adds rates of other days to the tax profile.",
    ),
    "steps-in-a-circle": ProblemPage(
        "Each finding by itself makes sense, but the steps that all of them add wait for each other without end.",
        "Quote without one of the findings. The owner must change what the findings add in the rate book.",
    ),
    "invalid-value": ProblemPage(
        "A member of the body is missing, unknown, of the wrong kind, or not one of the values that it may have.",
        'All wrong members come at once, each with its pointer. Decimal numbers are text, such as "0.10".',
    ),
    "notice-required": ProblemPage(
        "The law of the shop's place wants the customer of this job to be told something before the quote is issued.",
        "Tell them (the texts stand in `law.notices` of the price), then send the codes in `allowed` as `told`.",
    ),
    "job-refused": ProblemPage(
        "Several different things are wrong with the job.",
        "Each stands in `errors` with its own reason, pointer and what would be right; every reason has a page of"
        " its own.",
    ),
    "consent-required": ProblemPage(
        "The price of a revision passes the limit of what the customer agreed to, and nothing shows that they "
        "agree to it.",
        "Ask the customer. Then accept with just the amount in `allowed` as `extra`, and with how and where they "
        "said so if the law asks for it.",
    ),
    "nothing-changed": ProblemPage(
        "The revision would be what the quote is already.",
        "Nothing need be done. If something was meant to change, send the member of the job that changes.",
    ),
    "quote-refused": ProblemPage(
        "Several different things are wrong with an issue, a revision or a decision.",
        "Each stands in `errors` with its own reason; every reason has a page of its own.",
    ),
    "not-found": ProblemPage(
        "There is no such device, quote, book, version, draft or other thing, or it is no longer kept.",
        "Look at the address, and at `allowed` where it is given. Ids are whole and exactly as the service gave them.",
        (404,),
    ),
    "not-allowed": ProblemPage(
        "The key counts, but it may not do this: it is of another scope, or the rates leave it to the owner.",
        "Use a key of a scope that the operation names; `errors` says what in the request needs one.",
        (403,),
    ),
    "unreadable": ProblemPage(
        "The body is not a JSON document in UTF-8, or not the workbook or zip that it is sent as; on the command "
        "line a file that cannot be read.",
        "Look at the line and column that `detail` names, and let a library write the JSON. NaN, comments, commas at "
        "the end and other encodings are no JSON; a number must be one that a double can hold.",
        (400,),
    ),
    "unavailable": ProblemPage(
        "The service cannot get at what it keeps just now: the database is busy, locked or out of room. Nothing "
        "was changed.",
        "Wait as long as the header Retry-After says and send the same request again. If it stays, whoever runs "
        "the service finds the cause in its log.",
        (503,),
    ),
    "book-flawed": ProblemPage(
        "The rate book has faults, and none of it is used until they are mended: the draft is not published, and "
        "on the command line nothing is priced.",
        "Every fault is listed with its table, row, column and value: mend them all, then check again with "
        "`quoter book check`.",
    ),
    "edit-refused": ProblemPage(
        "Edits of a draft name a row, a column or a line that is not there, or make no sense together. None was made.",
        "Read the table again for the ids of its rows; the pointers say which edits are meant.",
    ),
    "publication-refused": ProblemPage(
        "A version is not published without a reason, or from a moment that is over.",
        "Give a reason, and a moment to come, or none to publish at once.",
    ),
    "calculation-refused": ProblemPage(
        "There is nothing to work out from these numbers, such as a margin of the whole price.",
        "Change the numbers that the pointers name.",
    ),
    "address-refused": ProblemPage(
        "A webhook must not have this address: it leads nowhere, into a closed network, or cannot be understood in one "
        "way only. Otherwise this service could be made to speak to machines that only it can reach.",
        "Give an address that begins with https:// and leads to the open internet. Whoever runs the service can name "
        "networks of the house in QUOTER_WEBHOOK_NETWORKS.",
    ),
    "currencies-differ": ProblemPage(
        "Two versions or revisions have their prices in different currencies, and no difference exists between them.",
        "Compare versions in one currency; issue a new quote instead of revising one from other money.",
    ),
    "too-large": ProblemPage(
        "The book has more rows than the kind of file can hold.",
        "Export a zip of CSV files instead of a workbook.",
    ),
    "conflict": ProblemPage(
        "The request is right in itself, but the thing is not in a state for it, such as a decision about a "
        "revision that has been superseded.",
        ASK_AGAIN,
        (409,),
    ),
    "changed-meanwhile": ProblemPage(
        "The thing is not at the version that you named in If-Match: it has changed since, by somebody else or by an "
        "earlier request with the same key. Nothing was overwritten.",
        f"{ASK_AGAIN} The ETag of the answer is the one to send then.",
        (412,),
    ),
    "if-match-required": ProblemPage(
        "This call changes something that others may be changing too, so it must say which version you have seen.",
        "Send the ETag of the answer in which you saw it as the header If-Match.",
        (428,),
    ),
    "forged": ProblemPage(
        "A request with the cookie of a session came without the token that only pages of this service know.",
        "Load the page again. A program sends a key in the header Authorization and needs no cookie.",
        (403,),
    ),
    "invalid-request": ProblemPage(
        "Parameters of the address are missing, unknown, given twice or of the wrong kind.",
        "All of them come at once, each with its name as the pointer. Unknown ones are refused since they would "
        "have no effect.",
    ),
    "too-many": ProblemPage(
        "The list holds more jobs than the service prices at once.",
        "Send several shorter lists; the description of the operation has the largest number.",
    ),
    "key-required": ProblemPage(
        "No key was sent, or one that does not exist, has expired or was revoked. All of these are answered alike.",
        "Send a key that counts as the header Authorization: Bearer KEY. `quoter key list` shows which there are.",
        (401,),
    ),
    "not-acceptable": ProblemPage(
        "The header Accept takes none of the types in which this comes.",
        "Name one of `allowed` in Accept, or send no such header.",
        (406,),
    ),
    "wrong-content-type": ProblemPage(
        "The header Content-Type does not name a type that this call reads, or the body is packed (Content-Encoding).",
        "Send application/json, or for a file the type that the operation names, and send it as it is.",
        (415,),
    ),
    "looks-automatic": ProblemPage(
        "The field `homepage` of a form was filled in. People do not see it; programs that fill in every field do.",
        "Leave it blank and send the form again. Where a browser filled it in by itself, nothing else is lost.",
    ),
    "too-early": ProblemPage(
        "The form was sent sooner after it was begun than a person can fill it in.",
        "Wait as long as the header Retry-After says and send the same again.",
    ),
    "form-expired": ProblemPage(
        "The form was begun more than 12 hours ago, and its token does not count any more.",
        "Begin another form (POST /v1/enquiry-forms) and send what was written with its token.",
    ),
    "form-unknown": ProblemPage(
        "The token of the form was not made by this service, or not for this key.",
        "Begin a form with the same key that sends it (POST /v1/enquiry-forms), and send its token unchanged.",
    ),
    "form-used": ProblemPage(
        "The form has made an enquiry already, and what is sent now says something else.",
        "Begin another form for another enquiry. Sending just the same again is safe: it gets the first answer.",
    ),
    "enquiry-refused": ProblemPage(
        "Several different things are wrong with an enquiry.",
        "Each stands in `errors` with its own reason and pointer; every reason has a page of its own.",
    ),
    "too-many-requests": ProblemPage(
        "More came in a short time from one place, or through one key, than the service takes. Nothing was kept.",
        "Wait as long as the header Retry-After says. Whoever runs the service can set the limits.",
        (429,),
    ),
    "origin-not-allowed": ProblemPage(
        "The key of a form counts only on the sites that it was made for, and the request came from another one, or "
        "from no page at all.",
        "Make a key for the site: `quoter key new --scope form --origin https://shop.example`. A program that is not "
        "a page needs a key of another scope.",
        (403,),
    ),
    "idempotency-key-reused": ProblemPage(
        "The name in the header Idempotency-Key has been given to another request, which said something else.",
        "Give each request a name of its own, such as a random UUID, and repeat a request just as it was.",
    ),
    "idempotency-key-erased": ProblemPage(
        "The request was done under this name, and what it made has been erased since, as its customer or the time "
        "asked. It was not done again: that would have kept anew what was erased.",
        "Where it is meant as something new, send it under a name of its own.",
        (409,),
    ),
    "idempotency-key-unreadable": ProblemPage(
        "The header Idempotency-Key is not a string of 1 to 255 visible ASCII signs.",
        "Send a random UUID, in quotes or bare.",
        (400,),
    ),
}
"""By code; a test holds that each type that is ever answered is here with its statuses."""
