"""The desk in every state that looks different, for the check of accessibility and for screenshots."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from playwright.sync_api import expect

if TYPE_CHECKING:
    from .states import Scene


def _fresh(scene: "Scene", language: str = "en") -> None:
    """The desk as it is opened, in a language."""
    scene.page.context.add_cookies([{"name": "quoter_language", "value": language, "url": scene.service.address}])
    scene.go("/docs")
    scene.page.evaluate("sessionStorage.clear()")
    scene.go("/desk")
    expect(scene.page.locator("#promises li").first).to_be_attached()  # the page listens once it has its words


def _known(scene: "Scene", language: str = "en") -> None:
    """With a device."""
    _fresh(scene, language)
    scene.page.locator("#device").fill("kesoway 5")
    expect(scene.page.locator("#devices [aria-selected=true]")).to_contain_text("Kessoway 5")
    scene.page.keyboard.press("Enter")
    expect(scene.page.locator("#repairs .price").first).not_to_have_text("…")


def _priced(scene: "Scene", language: str = "en") -> None:
    """With two repairs and a swollen cell."""
    _known(scene, language)
    scene.page.locator("#repair-battery").check()
    scene.page.locator("#repair-screen").check()
    scene.page.locator("#finding-swollen-cell").check()
    _settled(scene)


def _settled(scene: "Scene") -> None:
    expect(scene.page.locator("#issue")).to_have_attribute("aria-disabled", "false")


def desk_opened(scene: "Scene") -> None:
    """Nothing is known yet."""
    _fresh(scene)


def desk_searching(scene: "Scene") -> None:
    """What was found for a few letters."""
    _fresh(scene)
    scene.page.locator("#device").fill("dunec")
    expect(scene.page.locator("#devices li").first).to_contain_text("Dunnec")


def desk_offered(scene: "Scene") -> None:
    """A device and what is offered for it."""
    _known(scene)


def desk_priced(scene: "Scene") -> None:
    """A price with all that stands beside it, a reason opened."""
    _priced(scene)
    scene.page.locator(".why").first.click()


def desk_refused(scene: "Scene") -> None:
    """A discount that is none."""
    _priced(scene)
    scene.page.locator("#discount").fill("ten")
    scene.page.locator(".contact summary").click()
    expect(scene.page.locator("#fault-discount")).to_be_visible()


def desk_beyond(scene: "Scene") -> None:
    """A discount that only the owner may give."""
    _priced(scene)
    scene.page.locator("#discount").fill("60")
    expect(scene.page.locator("#needs-owner")).to_be_visible()


def desk_stopped(scene: "Scene") -> None:
    """A cell that must not be worked on."""
    _priced(scene)
    scene.page.locator("#finding-leaking-or-hot-cell").check()
    expect(scene.page.locator("#alarm")).to_be_visible()


def desk_untold(scene: "Scene") -> None:
    """Something that must be said before it is issued."""
    _known(scene)
    scene.page.locator("#repair-diagnosis").check()
    _settled(scene)
    scene.page.keyboard.press("Control+Enter")
    expect(scene.page.locator("#fault-told")).to_be_visible()


def desk_clearing(scene: "Scene") -> None:
    """The question before everything is cleared."""
    _priced(scene)
    scene.page.locator("#clear").click()


def desk_facing(scene: "Scene") -> None:
    """As the customer sees it."""
    _priced(scene)
    scene.page.keyboard.press("F8")
    expect(scene.page.locator("#facing .amount")).to_be_visible()


def desk_facing_stopped(scene: "Scene") -> None:
    """As the customer sees that there is no price."""
    desk_stopped(scene)
    scene.page.keyboard.press("F8")
    expect(scene.page.locator("#facing .alarm")).to_be_visible()


def desk_right_to_left(scene: "Scene") -> None:
    """In Arabic."""
    _priced(scene, "ar")
    scene.page.locator(".why").first.click()


def desk_facing_right_to_left(scene: "Scene") -> None:
    """For a customer who reads Arabic; the desk is in English again."""
    _priced(scene)
    scene.page.locator("#customer-language").select_option("ar")
    _settled(scene)
    scene.page.keyboard.press("F8")
    expect(scene.page.locator("#facing .amount")).to_be_visible()


DESK_STATES: tuple[Callable[["Scene"], None], ...] = (
    desk_opened,
    desk_searching,
    desk_offered,
    desk_priced,
    desk_refused,
    desk_beyond,
    desk_stopped,
    desk_untold,
    desk_clearing,
    desk_facing,
    desk_facing_stopped,
    desk_right_to_left,
    desk_facing_right_to_left,
)
