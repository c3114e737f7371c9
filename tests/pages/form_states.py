"""The form of a shop's site, its form without scripts and the demo's site, in every state that looks different."""

import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, Route, expect

from .hosting import Visit, form_key, running_host
from .nursery import ROOT
from .running import running_service

FORM_WIDTHS = {1000: 900, 320: 700}

BOTH = "light dark"


@contextmanager
def visited(browser: Browser) -> Iterator[Visit]:
    """Somebody on the site of a shop."""
    with tempfile.TemporaryDirectory() as name, running_host() as host:
        database = Path(name) / "quoter.db"
        with running_service(database, ROOT / "rates/ballyquarn") as service, browser.new_context() as context:
            yield Visit(context.new_page(), service, host, form_key(database, host.address, service.address))


def form_opened(visit: Visit) -> None:
    """Nothing is known yet."""
    visit.open(scheme=BOTH)


def form_searching(visit: Visit) -> None:
    """What was found for a few letters."""
    visit.open(scheme=BOTH)
    visit.field("device").fill("dunec")
    expect(visit.form.locator("[role=option]").first).to_be_visible()


def form_nothing_found(visit: Visit) -> None:
    """No device has these words."""
    visit.open(scheme=BOTH)
    visit.field("device").fill("zzzzzz")
    expect(visit.field("found")).not_to_be_empty()


def form_offered(visit: Visit) -> None:
    """A device, nothing ticked."""
    visit.open(scheme=BOTH).choose()


def form_priced(visit: Visit) -> None:
    """With a caution, and what to know opened."""
    visit.open(scheme=BOTH).choose().tick("repair-battery", "repair-screen", "finding-swollen-cell").priced()
    visit.form.locator("summary").click()


def form_faulty(visit: Visit) -> None:
    """What is missing is told at its field."""
    visit.open(scheme=BOTH).choose().tick("repair-battery").priced().send()
    expect(visit.field("fault-phone")).to_be_visible()


def form_offline(visit: Visit) -> None:
    """The line dropped."""

    def drop(route: Route) -> None:
        route.abort()

    visit.open(scheme=BOTH).filled()
    visit.page.route("**/v1/enquiries", drop)
    visit.send()
    expect(visit.form.locator(".told")).to_be_visible()
    visit.page.unroute("**/v1/enquiries")


def form_stopped(visit: Visit) -> None:
    """A finding that stops all work."""
    visit.open(scheme=BOTH).choose().tick("repair-battery", "finding-leaking-or-hot-cell")
    expect(visit.form.locator(".alarm").filter(visible=True)).to_be_visible()


def form_sent(visit: Visit) -> None:
    """It has arrived."""
    visit.open(scheme=BOTH).filled().send()
    expect(visit.form.locator(".reference")).to_be_visible()


def form_not_set_up(visit: Visit) -> None:
    """No key."""
    key, visit.key = visit.key, ""
    tag = "<repair-enquiry></repair-enquiry>"
    script = f'<script src="{visit.service.address}/form.js" async></script>'
    visit.page.goto(visit.host.show("/unset", tag, visit.policy, head=script, scheme=BOTH))
    expect(visit.form.locator(".told")).to_be_visible()
    visit.key = key


def form_in_arabic(visit: Visit) -> None:
    """From right to left."""
    visit.open(scheme=BOTH, language="ar").choose().tick("repair-battery", "finding-liquid").priced()


def demo_site(visit: Visit) -> None:
    """The shop's own colours."""
    visit.page.goto(f"{visit.service.address}/demo/site")
    visit.choose().tick("repair-battery").priced()


def ask_device(visit: Visit) -> None:
    """Without scripts: which device."""
    _ask(visit, "")


def ask_choices(visit: Visit) -> None:
    """What is wrong with it."""
    _ask(visit, "?device=kessoway-5&repair=screen&finding=liquid")


def ask_stopped(visit: Visit) -> None:
    """No price, but what to do now."""
    _ask(visit, "?device=kessoway-5&repair=screen&finding=leaking-or-hot-cell&step=price")


def ask_unticked(visit: Visit) -> None:
    """Nothing ticked."""
    _ask(visit, "?device=kessoway-5&step=price")


def ask_price(visit: Visit) -> None:
    """The price and how to reach them."""
    _ask(visit, "?device=kessoway-5&repair=screen&grade-screen=compatible&finding=swollen-cell&step=price")


def ask_in_arabic(visit: Visit) -> None:
    """From right to left."""
    _ask(visit, "?device=kessoway-5&repair=screen&step=price&language=ar")


def ask_faulty(visit: Visit) -> None:
    """What is wrong is told at its field."""
    ask_price(visit)
    visit.page.locator("#email").fill("nobody@")
    visit.page.locator("#ask").evaluate("(form) => (form.noValidate = true)")
    visit.page.locator("#ask button").click()
    expect(visit.page.locator("#fault-agreed")).to_be_visible()


def ask_sent(visit: Visit) -> None:
    """It has arrived."""
    ask_price(visit)
    visit.page.locator("#phone").fill("+353 1 555 0188")
    visit.page.locator("[name=agreed]").check()
    visit.page.wait_for_timeout(3_200)
    visit.page.locator("#ask button").click()
    expect(visit.page.locator("#reference")).to_be_visible()


def _ask(visit: Visit, query: str) -> None:
    visit.page.goto("about:blank")
    visit.page.goto(f"{visit.service.address}/ask/{visit.key.split('_')[1]}{query}")


FORM_STATES: tuple[Callable[[Visit], None], ...] = (
    form_opened,
    form_searching,
    form_nothing_found,
    form_offered,
    form_priced,
    form_faulty,
    form_offline,
    form_stopped,
    form_sent,
    form_not_set_up,
    form_in_arabic,
    demo_site,
    ask_device,
    ask_choices,
    ask_stopped,
    ask_unticked,
    ask_price,
    ask_in_arabic,
    ask_faulty,
    ask_sent,
)
