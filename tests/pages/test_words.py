"""A script says in the browser what the program says on the server."""

import pytest
from playwright.sync_api import Browser

from quoter.words.catalogues import LANGUAGES
from quoter.words.wording import wording_for

from .running import Service

NUMBERS = (0, 1, 2, 3, 5, 11, 21, 22, 25, 100, 101, 103, 12345)
COUNTED = ("{n} device found", "{n} devices found")
SAID = "Valid until {date}"


@pytest.mark.parametrize("language", LANGUAGES)
def test_scripts_say_and_count_as_the_server_does(browser: Browser, service: Service, language: str) -> None:
    """The browser chooses among plural forms by CLDR, the server by gettext's formula; a place is filled as it is."""
    wording = wording_for(language)
    with browser.new_context() as context:
        context.add_cookies([{"name": "quoter_language", "value": language, "url": service.address}])
        page = context.new_page()
        page.goto(f"{service.address}/sign-in")
        assert page.get_attribute("html", "lang") == language
        assert page.get_attribute("html", "dir") == wording.direction
        said = page.evaluate(
            """async ([said, [one, other], numbers]) => {
                const { say, plural } = await import("/assets/js/shared/words.js");
                return [say(said, { date: "{x} <b>" }), numbers.map((n) => plural(one, other, n))];
            }""",
            [SAID, COUNTED, NUMBERS],
        )
    assert said[0] == wording.say(SAID, date="{x} <b>")
    assert said[1] == [wording.plural(*COUNTED, n) for n in NUMBERS]
