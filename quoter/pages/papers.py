"""The customer's copy of a revision as a file that a link leads to, where no header can ask for it."""

from flask import Response, current_app, request, url_for

from quoter.api.quotes.documents import LETTER_CURRENCIES, PDF
from quoter.api.quotes.quoted import PUBLIC_ADDRESS, customer_link
from quoter.documents.sheet import quote_sheet
from quoter.printing.pdf import pdf_of
from quoter.records.quotes import IssuedQuote
from quoter.words.wording import Wording


def customer_address(quote: IssuedQuote) -> str:
    """The whole address of the customer's page, which shows whichever revision is the newest; "" without a link."""
    service = current_app.config[PUBLIC_ADDRESS] or request.url_root.rstrip("/")
    return service + url_for("customer.newest", token=quote.link) if quote.link else ""


def customer_pdf(quote: IssuedQuote, wording: Wording, now: str) -> Response:
    """The PDF, to be looked at; its name has the number of the quote."""
    sheet = quote_sheet(quote, wording, now=now, link=customer_link(quote) if quote.link else "")
    paper = "letter" if quote.result["currency"] in LETTER_CURRENCIES else "a4"
    answer = Response(pdf_of(sheet, paper=paper, made_at=quote.issued_at), content_type=PDF)
    answer.headers["Content-Disposition"] = f'inline; filename="{quote.number}-{quote.revision}.pdf"'
    return answer
