"""The desk's pages of enquiries, in every state that looks different."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from playwright.sync_api import expect

from .asking import DIAGNOSIS, NOTICED, asked

if TYPE_CHECKING:
    from .states import Scene


def _choose(scene: Scene, language: str) -> None:
    """The language of the desk."""
    scene.page.context.add_cookies([{"name": "quoter_language", "value": language, "url": scene.service.address}])


def no_enquiries(scene: Scene) -> None:
    """Nobody has asked anything."""
    scene.go("/desk/enquiries")


def enquiries(scene: Scene) -> None:
    """A list with an enquiry at each standing."""
    asked(scene.service)
    asked(scene.service, contact={"phone": "0171 555 12"}).quote()
    asked(scene.service, contact={"name": "Ana Muster", "email": "ana@example.org"}).put_aside()
    scene.go("/desk/enquiries?standing=any")


def enquiries_in_arabic(scene: Scene) -> None:
    """The list from right to left."""
    _choose(scene, "ar")
    scene.go("/desk/enquiries?standing=any")


def enquiry_in_arabic(scene: Scene) -> None:
    """One enquiry from right to left."""
    scene.go(asked(scene.service, noticed="الشاشة مكسورة").path)
    _choose(scene, "en")


def enquiry(scene: Scene) -> None:
    """As somebody asked it."""
    scene.go(asked(scene.service).path)


def enquiry_to_be_told(scene: Scene) -> None:
    """A notice must be told first, in the customer's language, and it was not ticked."""
    scene.go(asked(scene.service, job=DIAGNOSIS | {"locale": "ar"}).path)
    scene.page.get_by_role("button", name="Make the quote").click()
    expect(scene.page.get_by_role("alert")).to_be_visible()


def enquiry_conflict(scene: Scene) -> None:
    """Somebody else was quicker."""
    shown = asked(scene.service)
    scene.go(shown.path)
    shown.quote()
    scene.page.get_by_role("button", name="Make the quote").click()
    expect(scene.page.get_by_role("alert")).to_contain_text("quicker")


def enquiry_quoted(scene: Scene) -> None:
    """The way to its quote."""
    shown = asked(scene.service)
    shown.quote()
    scene.go(shown.path)


def quote_of_enquiry(scene: Scene) -> None:
    """And back."""
    scene.go(f"/desk/quotes/{asked(scene.service).quote()['id']}")


def enquiry_put_aside(scene: Scene) -> None:
    """With the reason, and the way to take it up again."""
    scene.go(asked(scene.service).put_aside("junk").path)


def no_enquiry(scene: Scene) -> None:
    """An enquiry that is not there."""
    scene.go("/desk/enquiries/nowhere")


def desk_for_enquiry(scene: Scene) -> None:
    """The desk, filled in with what was asked."""
    scene.go("/docs")
    scene.page.evaluate("sessionStorage.clear()")
    scene.go(f"/desk?enquiry={asked(scene.service).data['id']}")
    expect(scene.page.locator("#issue")).to_have_attribute("aria-disabled", "false")


def desk_for_enquiry_or_not(scene: Scene) -> None:
    """Something else had been typed in this tab."""
    other = NOTICED | {"noticed": ""}
    scene.go(f"/desk?enquiry={asked(scene.service, **other).data['id']}")
    expect(scene.page.get_by_role("dialog")).to_be_visible()


ENQUIRY_STATES: tuple[Callable[[Scene], None], ...] = (
    no_enquiries,
    enquiries,
    enquiries_in_arabic,
    enquiry_in_arabic,
    enquiry,
    enquiry_to_be_told,
    enquiry_conflict,
    enquiry_quoted,
    quote_of_enquiry,
    enquiry_put_aside,
    no_enquiry,
    desk_for_enquiry,
    desk_for_enquiry_or_not,
)
