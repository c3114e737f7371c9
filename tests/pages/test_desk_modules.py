"""The parts of the desk that need no page, each asked in the browser that runs them."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser

from .nursery import ROOT
from .running import running_service

Ask = Callable[..., Any]

OFFER = {
    "code": "kessoway-5",
    "maker": "Quellimar",
    "model": "Kessoway 5",
    "procedures": [
        {
            "procedure": "battery",
            "parts": [
                {"sku": "A", "grade": "genuine", "lead_days": 1},
                {"sku": "B", "grade": "compatible", "lead_days": 0},
                {"sku": "C", "grade": "genuine", "lead_days": 9},
            ],
        },
        {"procedure": "reseal", "parts": []},
    ],
    "findings": [{"code": "liquid"}],
}


@pytest.fixture(scope="module")
def ask(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Ask]:
    """Calls an exported function of a module of the desk."""
    database = tmp_path_factory.mktemp("modules") / "quoter.db"
    with running_service(database, ROOT / "rates/ballyquarn") as service, browser.new_page() as page:
        page.goto(f"{service.address}/sign-in")

        def asked(module: str, name: str, *arguments: Any) -> Any:
            call = "async ([module, name, given]) => (await import(`/assets/js/desk/${module}.js`))[name](...given)"
            return page.evaluate(call, [module, name, list(arguments)])

        asked.page = page  # type: ignore[attr-defined]
        yield asked


def wish(ask: Ask, **members: Any) -> dict[str, Any]:
    """What the desk was told."""
    device = {"code": "kessoway-5", "maker": "Quellimar", "model": "Kessoway 5"}
    nothing: dict[str, Any] = ask("job", "nothingYet", "ballyquarn", "en")
    return nothing | {"device": device, "repairs": {"battery": "compatible"}} | members


@pytest.mark.parametrize(
    ("typed", "share"),
    [
        ("10", "0.1"),
        ("12,5", "0.125"),
        ("12.5 %", "0.125"),
        ("5", "0.05"),
        (".5", "0.005"),
        ("100", "1"),
        ("150", "1.5"),
        ("0", "0"),
        ("007", "0.07"),
        ("-3", "-0.03"),
        ("", ""),
        ("ten", "ten"),
        ("1.2.3", "1.2.3"),
        ("-", "-"),
    ],
)
def test_a_percentage_is_a_share(ask: Ask, typed: str, share: str) -> None:
    """By moving the point: a browser has no exact numbers. What is no number is left for the service to refuse."""
    assert ask("job", "share", typed) == share


def test_a_job_names_what_was_ticked_in_the_order_of_the_offer(ask: Ask) -> None:
    """A grade where there is one to choose, a discount where one was typed."""
    job = ask("job", "jobOf", wish(ask, repairs={"reseal": "", "battery": "compatible"}), OFFER, "de")
    assert job["repairs"] == [{"procedure": "battery", "grade": "compatible"}, {"procedure": "reseal"}]
    assert (job["locale"], "discount" in job) == ("de", False)
    discounted = ask("job", "jobOf", wish(ask, discount="7,5", reason=" came back "), OFFER, "de")
    assert discounted["discount"] == {"rate": "0.075", "reason": "came back"}


def test_there_is_no_job_without_a_repair(ask: Ask) -> None:
    """Nor without a device."""
    assert ask("job", "jobOf", wish(ask, repairs={}), OFFER, "en") is None
    assert ask("job", "jobOf", wish(ask, device=None), OFFER, "en") is None


def test_every_repair_is_priced_with_every_grade_that_it_has(ask: Ask) -> None:
    """Alone, under the same findings."""
    options = ask("job", "optionJobs", wish(ask, findings=["liquid"]), OFFER, "en")
    assert [(each["procedure"], each["grade"]) for each in options] == [
        ("battery", "genuine"),
        ("battery", "compatible"),
        ("reseal", ""),
    ]
    assert all(each["job"]["findings"] == ["liquid"] and len(each["job"]["repairs"]) == 1 for each in options)


def test_what_another_device_does_not_offer_is_left_out(ask: Ask) -> None:
    """A grade that it has no part of becomes the preferred one."""
    kept = ask(
        "job",
        "offeredOf",
        wish(ask, repairs={"battery": "reclaimed", "screen": "genuine"}, findings=["bent-frame", "liquid"]),
        OFFER,
    )
    assert (kept["repairs"], kept["findings"]) == ({"battery": "genuine"}, ["liquid"])


def test_only_what_was_filled_in_goes_along_with_the_quote(ask: Ask) -> None:
    """Neither an empty contact nor notices that need not be told."""
    assert {"contact", "told"}.isdisjoint(ask("job", "issueBody", wish(ask), OFFER, "en"))
    contact = {"name": " A. Customer ", "phone": "", "email": ""}
    body = ask("job", "issueBody", wish(ask, contact=contact, told=["data-loss"]), OFFER, "en")
    assert (body["contact"]["name"], body["told"]) == ("A. Customer", ["data-loss"])


@pytest.mark.parametrize(
    ("pointer", "field"),
    [
        ("/repairs/1/grade", "repair-reseal"),
        ("/findings/0", "finding-liquid"),
        ("/discount/rate", "discount"),
        ("/discount", "discount"),
        ("/customer/kind", "customer"),
        ("/contact/phone", "contact-phone"),
        ("/told/0", "told"),
        ("/date", None),
        ("", None),
    ],
)
def test_a_pointer_leads_to_its_field(ask: Ask, pointer: str, field: str | None) -> None:
    """None where the page has no such field."""
    job = {"repairs": [{"procedure": "battery"}, {"procedure": "reseal"}], "findings": ["liquid"]}
    assert ask("refusals", "fieldOf", pointer, job) == field


def test_the_shop_writes_its_own_language_in_its_own_way(ask: Ask) -> None:
    """Other languages as most do."""
    assert ask("job", "customerLocale", "en", "en-IE") == "en-IE"
    assert ask("job", "customerLocale", "de", "en-IE") == "de"


def test_only_notices_that_must_be_told_are_asked_for(ask: Ask) -> None:
    """In the language of the desk, else in English; none without a law."""
    notices = [{"code": "data-loss", "must_be_told": True}, {"code": "validity", "must_be_told": False}]
    assert [each["code"] for each in ask("notices", "mustBeTold", {"notices": notices})] == ["data-loss"]
    assert ask("notices", "mustBeTold", None) == []
    texts = {"en": "Data can be lost.", "de": "Daten können verloren gehen."}
    assert ask("notices", "textIn", texts, "de-AT") == texts["de"]
    assert ask("notices", "textIn", texts, "pl") == texts["en"]


def test_the_last_answer_wins(ask: Ask) -> None:
    """However late an earlier one comes."""
    told = ask.page.evaluate(  # type: ignore[attr-defined]
        """async () => {
            const { Latest } = await import("/assets/js/shared/latest.js");
            const [latest, told] = [new Latest(5), []];
            const after = (ms, text) => () => new Promise((done) => setTimeout(() => done(text), ms));
            const pause = (ms) => new Promise((done) => setTimeout(done, ms));
            latest.ask(after(120, "slow"), (text) => told.push(text), () => told.push("failed"));
            await pause(30);
            latest.ask(after(0, "overtaken before it was asked"), (text) => told.push(text), () => {});
            latest.ask(after(10, "quick"), (text) => told.push(text), () => {});
            while (!told.length) await pause(10);
            await pause(200);
            latest.ask(after(0, "forgotten"), (text) => told.push(text), () => {});
            latest.forget();
            await pause(50);
            return told;
        }"""
    )
    assert told == ["quick"]
