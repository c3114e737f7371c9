"""The parts of the embedded form that need no page, each asked in the browser that runs them."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser

from .nursery import ROOT
from .running import running_service

Ask = Callable[..., Any]

OFFER = {
    "procedures": [
        {
            "procedure": "battery",
            "parts": [
                {"grade": "genuine", "grade_title": "maker's", "lead_days": 1},
                {"grade": "compatible", "grade_title": "fits", "lead_days": 0},
                {"grade": "genuine", "grade_title": "maker's", "lead_days": 5},
            ],
        },
        {"procedure": "diagnosis", "parts": []},
    ],
    "findings": [{"code": "liquid", "stops": False}, {"code": "hot", "stops": True}],
}
JOB = {
    "device": "d",
    "repairs": [{"procedure": "battery", "grade": "genuine"}, {"procedure": "diagnosis"}],
    "findings": ["liquid"],
}
WRITTEN = {
    "name": " A. Example ",
    "phone": "",
    "email": "a@example.org",
    "noticed": " x\ny ",
    "homepage": "",
    "agreed": True,
}

SAY = "(template, places = {}) => template.replace(/\\{(\\w+)\\}/g, (_, name) => places[name])"


@pytest.fixture(scope="module")
def ask(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Ask]:
    """Calls an exported function of a module of the form."""
    database = tmp_path_factory.mktemp("form") / "quoter.db"
    with running_service(database, ROOT / "rates/ballyquarn") as service, browser.new_page() as page:
        page.goto(f"{service.address}/sign-in")

        def asked(module: str, name: str, *arguments: Any) -> Any:
            call = f"""async ([module, name, given]) => {{
                const say = {SAY};
                const plural = (one, other, n) => say(n === 1 ? one : other, {{ n }});
                const words = {{ "#say": say, "#words": {{ say, plural }}, "#plural": plural }};
                const found = (await import(`/assets/js/form/${{module}}.js`))[name];
                const result = found(...given.map((each) => words[each] ?? each));
                return result instanceof Map ? Object.fromEntries(result) : result;
            }}"""
            return page.evaluate(call, [module, name, list(arguments)])

        yield asked


@pytest.mark.parametrize(
    ("tags", "language"),
    [
        ((None, "de-AT", "fr"), "de"),
        (("xx", "nl", "ja-JP"), "ja"),
        (("AR-EG",), "ar"),
        ((None, None), "en"),
        (("", "fr-CA"), "fr"),
    ],
)
def test_the_first_shipped_language_is_spoken(ask: Ask, tags: tuple[str | None, ...], language: str) -> None:
    """The attribute first, then the page, then the browser."""
    assert ask("languages", "languageOf", *tags) == language


def test_answers_come_in_the_readers_own_variant(ask: Ask) -> None:
    """And nothing that is no tag gets into the header Accept-Language (RFC 9110, section 12.5.4)."""
    assert ask("languages", "acceptedTags", "de", "de-AT", "en", "de-CH", "de-\r\nX: y", "") == "de-AT, de-CH, de"


def test_arabic_runs_from_right_to_left(ask: Ask) -> None:
    """It alone of those that are shipped."""
    shipped = ["en", "de", "fr", "es", "pl", "ar", "ja"]
    assert [code for code in shipped if ask("languages", "directionOf", code) == "rtl"] == ["ar"]


def test_each_grade_is_offered_once(ask: Ask) -> None:
    """The preferred part of a grade speaks for it."""
    grades = ask("wish", "gradesOf", OFFER["procedures"][0])
    assert [(each["grade"], each["days"]) for each in grades] == [("genuine", 1), ("compatible", 0)]


def test_a_job_is_made_of_what_is_ticked(ask: Ask) -> None:
    """In the order of the offer; nothing ticked is no job."""
    wish = {"device": "d", "repairs": {"diagnosis": "", "battery": "genuine", "gone": ""}, "findings": ["liquid"]}
    assert ask("wish", "jobOf", wish, OFFER) == JOB
    assert ask("wish", "jobOf", {**wish, "repairs": {}}, OFFER) is None
    assert ask("wish", "jobOf", {**wish, "device": ""}, OFFER) is None
    assert ask("wish", "jobOf", wish, None) is None


def test_what_stops_is_known_from_the_offer(ask: Ask) -> None:
    """Only what was noticed stops."""
    assert ask("wish", "stopping", {"findings": ["liquid"]}, OFFER) == []
    assert ask("wish", "stopping", {"findings": ["hot", "liquid"]}, OFFER) == [{"code": "hot", "stops": True}]
    assert ask("wish", "stopping", {"findings": ["hot"]}, None) == []


def test_an_enquiry_has_what_was_written(ask: Ask) -> None:
    """Without blanks around, and without what was left open."""
    assert ask("wish", "enquiryOf", JOB, WRITTEN, "t") == {
        "job": JOB,
        "noticed": "x\ny",
        "contact": {"name": "A. Example", "email": "a@example.org"},
        "may_be_contacted": True,
        "token": "t",
        "homepage": "",
    }


@pytest.mark.parametrize(
    ("changed", "wrong"),
    [
        ({}, []),
        ({"email": " "}, ["/contact"]),
        ({"email": "", "phone": "1234"}, []),
        ({"email": "", "phone": "+٣٥٣ ١ ٥٥٥"}, []),
        ({"phone": "123"}, ["/contact/phone"]),
        ({"agreed": False}, ["/may_be_contacted"]),
        ({"email": "", "agreed": False}, ["/contact", "/may_be_contacted"]),
        (
            {"email": "x@", "phone": "abc", "agreed": False},
            ["/contact/phone", "/contact/email", "/may_be_contacted"],
        ),
    ],
)
def test_everything_wrong_is_known_before_anything_is_sent(ask: Ask, changed: dict[str, Any], wrong: list[str]) -> None:
    """One way to reach them, written as the service takes it, and consent, without which nothing may be sent."""
    assert [each["pointer"] for each in ask("wish", "wrongFields", WRITTEN | changed)] == wrong


@pytest.mark.parametrize(
    ("days", "told"),
    [(None, ""), (0, "until you ask the shop"), (1, "for 1 day;"), (180, "for 180 days;")],
)
def test_when_it_is_erased_is_told_as_it_is(ask: Ask, days: int | None, told: str) -> None:
    """What is agreed to is kept, and without a setting everything is (docs/personal-data.md)."""
    sentence = ask("contact", "erasureSentence", "#words", days)
    assert told in sentence
    assert bool(sentence) == (days is not None)


@pytest.mark.parametrize(
    ("pointer", "field"),
    [
        ("/contact", "phone"),
        ("/contact/email", "email"),
        ("/may_be_contacted", "agreed"),
        ("/job/repairs/1/grade", "repair-diagnosis"),
        ("/job/findings/0", "finding-liquid"),
        ("/token", None),
        ("", None),
    ],
)
def test_a_pointer_leads_to_its_field(ask: Ask, pointer: str, field: str | None) -> None:
    """RFC 6901."""
    assert ask("wish", "fieldOf", pointer, JOB) == field


@pytest.mark.parametrize(
    ("header", "seconds"),
    [("120", 120), ("0", 0), (None, None), ("soon", None), ("Thu, 01 Jan 1970 00:01:40 GMT", 90)],
)
def test_a_time_to_wait_is_read(ask: Ask, header: str | None, seconds: int | None) -> None:
    """As seconds or as a date (RFC 9110, section 10.2.3); it is ten seconds after the epoch."""
    assert ask("calls", "secondsOf", header, 10_000) == seconds


@pytest.mark.parametrize(("seconds", "minutes"), [(None, 1), (0, 1), (60, 1), (61, 2), (3600, 60)])
def test_when_to_try_again_is_told_in_minutes(ask: Ask, seconds: int | None, minutes: int) -> None:
    """Rather too long than too short."""
    told = ask("refusals", "laterSentence", "#plural", seconds)
    assert told == f"Please try again in {minutes} minute{'' if minutes == 1 else 's'}."


@pytest.mark.parametrize(
    ("price", "words"),
    [
        ({"display": "inclusive", "totals": {"tax": "1.00"}}, "including T tax"),
        ({"display": "exclusive", "totals": {"tax": "1.00"}}, "N and T tax"),
        ({"display": "exclusive", "law": {"tax_in_price": True}, "totals": {"tax": "1"}}, "including T tax"),
        ({"display": "inclusive", "totals": {"tax": "0.00"}}, ""),
        ({"display": "inclusive", "totals": {"tax": "0"}}, ""),
    ],
)
def test_tax_is_told_as_the_place_wants_it(ask: Ask, price: dict[str, Any], words: str) -> None:
    """In the price or beside it; nothing is said of none."""
    formatted = {"totals": {"net": "N", "tax": "T"}}
    assert ask("price_view", "taxWords", "#say", price | {"formatted": formatted}) == words


def test_time_says_whether_parts_must_come_first(ask: Ask) -> None:
    """As the service writes both."""
    formatted = {"time": {"elapsed": "1 hr"}, "lead_time": "2 days"}
    assert ask("price_view", "timeWords", "#say", {"lead_days": 0, "formatted": formatted}) == ["Ready in about 1 hr"]
    told = ask("price_view", "timeWords", "#say", {"lead_days": 2, "formatted": formatted})
    assert told == ["All parts are here in 2 days", "Once all parts are here, ready in about 1 hr"]


def test_a_ceiling_is_told_where_there_is_one(ask: Ask) -> None:
    """Where the work would stop there is none."""
    assert "up to C" in ask("price_view", "indicationWords", "#say", "C")
    assert "up to" not in ask("price_view", "indicationWords", "#say", None)


def test_no_two_keys_are_alike(ask: Ask) -> None:
    """128 bits as hexadecimal digits."""
    keys = {ask("sending", "randomKey") for _ in range(5)}
    assert {len(key) for key in keys} == {32}
    assert len(keys) == 5
