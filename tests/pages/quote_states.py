"""The desk's pages of quotes and the customer's page, in every state that looks different."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from playwright.sync_api import expect

from .quoting import LAW, issued, under
from .running import later_service

if TYPE_CHECKING:
    from .states import Scene


def _choose(scene: Scene, language: str) -> None:
    """The language of the desk."""
    scene.page.context.add_cookies([{"name": "quoter_language", "value": language, "url": scene.service.address}])


def no_quotes(scene: Scene) -> None:
    """Nothing fits, and what to try."""
    scene.go("/desk/quotes?customer=nobody+of+this+name")


def quotes(scene: Scene) -> None:
    """A list with a quote in each state."""
    issued(scene.service)
    issued(scene.service, contact={"name": "Ana Muster"}).decide("accepted")
    issued(scene.service, repairs=[{"procedure": "screen"}], contact={"phone": "0171 555 12"}).decide("declined")
    issued(scene.service, contact={}).decide("withdrawn")
    scene.go("/desk/quotes")


def quotes_in_arabic(scene: Scene) -> None:
    """The list from right to left."""
    _choose(scene, "ar")
    scene.go("/desk/quotes")


def quote_in_arabic(scene: Scene) -> None:
    """One quote from right to left."""
    scene.go(issued(scene.service).path)
    _choose(scene, "en")


def quote(scene: Scene) -> None:
    """As it was issued."""
    scene.go(issued(scene.service).path)


def deciding(scene: Scene) -> None:
    """A price beyond what was agreed: the consent is asked for."""
    revised = issued(scene.service).decide("accepted").revise("The cell is swollen.", findings=["swollen-cell"])
    scene.go(revised.path)
    scene.page.get_by_label("Accepted").check()


def quote_decided(scene: Scene) -> None:
    """What every decision rests on."""
    revised = issued(scene.service).decide("accepted").revise("The cell is swollen.", findings=["swollen-cell"])
    said = {"how": "phone", "contact": "+353 1 555 0144", "note": "asked to be called after six"}
    scene.go(revised.decide("accepted", extra=revised.data["needs_consent"]["extra"], **said).path)


def quote_conflict(scene: Scene) -> None:
    """Somebody else decided meanwhile."""
    shown = issued(scene.service)
    scene.go(shown.path)
    shown.decide("declined")
    scene.page.get_by_label("Accepted").check()
    scene.page.get_by_role("button", name="Record the decision").click()
    expect(scene.page.get_by_role("alert")).to_contain_text("quicker")


def earlier_revision(scene: Scene) -> None:
    """What took its place, and the way there."""
    revised = issued(scene.service).revise("The cell is swollen.", findings=["swollen-cell"])
    scene.go(f"{revised.path}?revision=1")


def no_quote(scene: Scene) -> None:
    """A quote that is not there."""
    scene.go("/desk/quotes/nowhere")


def revising(scene: Scene) -> None:
    """Old and new beside each other, beyond what was agreed."""
    scene.go(f"{issued(scene.service).decide('accepted').path}/revise")
    scene.page.get_by_label("Swollen cell").check()
    scene.page.get_by_label("Express").check()
    expect(scene.page.locator("#preview")).to_contain_text("passes what was agreed")
    expect(scene.page.locator("#preview")).not_to_have_attribute("aria-busy", "true")


def revising_stopped(scene: Scene) -> None:
    """A cell that must not be worked on: what to do now in place of figures."""
    scene.go(f"{issued(scene.service).path}/revise")
    scene.page.locator(".finding.stopping input").check()
    expect(scene.page.locator("#alarm")).to_be_visible()


def revising_the_warranty(scene: Scene) -> None:
    """Another grade of part, with another warranty."""
    scene.go(f"{issued(scene.service).path}/revise")
    scene.page.get_by_label("Part for: Battery").select_option("grade:compatible")
    expect(scene.page.locator("#preview .terms")).to_be_visible()


def telling(scene: Scene) -> None:
    """A notice that the law wants to be told, in the customer's language, and what is missing."""
    scene.go(f"{issued(scene.service, locale='ar').path}/revise")
    scene.page.get_by_text("Add a repair").click()
    scene.page.get_by_label("Diagnosis").check()
    expect(scene.page.locator("#notices [lang=ar]")).to_be_visible()
    scene.page.get_by_label("Why the quote is revised").fill("The fault must be found first.")
    scene.page.get_by_role("button", name="Issue the revision").click()


def customers_quote(scene: Scene) -> None:
    """As the customer gets it."""
    scene.go(issued(scene.service).customer_path)


def customers_quote_in_arabic(scene: Scene) -> None:
    """From right to left."""
    scene.go(issued(scene.service, locale="ar").customer_path)


def customers_revision(scene: Scene) -> None:
    """What it changes, the warranty too, before the question."""
    shown = issued(scene.service).decide("accepted")
    shown.revise("no other part", repairs=[{"procedure": "battery", "grade": "compatible"}], findings=["swollen-cell"])
    scene.go(shown.customer_path)


def accepting(scene: Scene) -> None:
    """The last step, with a consent."""
    revised = issued(scene.service).decide("accepted").revise("The cell is swollen.", findings=["swollen-cell"])
    scene.go(f"{revised.customer_path}/accept")


def accepting_without_a_name(scene: Scene) -> None:
    """What is missing is said."""
    scene.go(f"{issued(scene.service).customer_path}/accept")
    scene.page.get_by_label("Your name").fill(" ")
    scene.page.locator("[name=read]").check()
    scene.page.get_by_role("button", name="Accept").click()
    expect(scene.page.get_by_role("alert")).to_be_visible()


def declining(scene: Scene) -> None:
    """The last step before declining."""
    scene.go(f"{issued(scene.service).customer_path}/decline")


def customer_accepted(scene: Scene) -> None:
    """What was decided, and when."""
    scene.go(issued(scene.service).decide("accepted").customer_path)


def customer_withdrawn(scene: Scene) -> None:
    """What counts no more."""
    scene.go(issued(scene.service).decide("withdrawn").customer_path)


def customer_expired(scene: Scene) -> None:
    """Forty days later: it held for thirty."""
    path = issued(scene.service).customer_path
    with later_service(scene.folder / "quoter.db", 40) as later:
        scene.page.goto(later.address + path)


def customer_bound_by_law(scene: Scene) -> None:
    """A law that is nobody's: its notices, and a consent that must be given by phone."""
    revised = issued(scene.service).decide("accepted").revise("The cell is swollen.", findings=["swollen-cell"])
    scene.go(under(LAW, revised, scene.folder / "quoter.db").customer_path)


def customer_superseded(scene: Scene) -> None:
    """An earlier revision, with the way to the newest."""
    first = issued(scene.service)
    path = first.customer_path
    first.revise("The cell is swollen.", findings=["swollen-cell"])
    scene.go(path)


def customer_unknown(scene: Scene) -> None:
    """A link that leads nowhere."""
    scene.go("/q/nothing")


QUOTE_STATES: tuple[Callable[[Scene], None], ...] = (
    no_quotes,
    quotes,
    quotes_in_arabic,
    quote_in_arabic,
    quote,
    deciding,
    quote_decided,
    quote_conflict,
    earlier_revision,
    no_quote,
    revising,
    revising_stopped,
    revising_the_warranty,
    telling,
    customers_quote,
    customers_quote_in_arabic,
    customers_revision,
    accepting,
    accepting_without_a_name,
    declining,
    customer_accepted,
    customer_withdrawn,
    customer_expired,
    customer_bound_by_law,
    customer_superseded,
    customer_unknown,
)
