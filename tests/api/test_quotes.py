"""Quotes: issued, found, read, and over when their day is over."""

import datetime as dt
from typing import Any

import pytest

from .problems import pointers, problem
from .running import BATTERY, SCREEN, Caller, Service

DIAGNOSIS = {"device": "kessoway-4", "repairs": [{"procedure": "diagnosis"}], "told": ["diagnosis-fee"]}


@pytest.fixture
def desk(service: Service) -> Caller:
    """Somebody at the front desk."""
    return service.caller("desk")


def issued(caller: Caller, job: Any = BATTERY, query: str = "") -> dict[str, Any]:
    """A new quote."""
    reply = caller.post(f"/v1/quotes{query}", job)
    assert reply.status == 201, reply.text
    quote: dict[str, Any] = reply.body
    return quote


def pages(caller: Caller, path: str) -> list[list[dict[str, Any]]]:
    """All pages of a list from this one on, by the links."""
    found = []
    while path:
        reply = caller.get(path)
        (members,) = reply.body.values()
        found.append(members)
        link = reply.headers.get("Link", "")
        assert link == "" or link.endswith('>; rel="next"')
        path = link.partition(">")[0].removeprefix("<")
    return found


def ids(quotes: list[dict[str, Any]]) -> list[str]:
    """Their ids."""
    return [quote["id"] for quote in quotes]


def test_a_quote_is_issued_and_read_back_where_location_leads(desk: Caller):
    """The same document, to the last byte."""
    reply = desk.post("/v1/quotes", BATTERY)
    assert reply.status == 201
    assert desk.get(reply.headers["Location"]).text == reply.text


def test_a_quote_is_the_price_with_a_name_and_a_state(desk: Caller):
    """Nothing of the price is changed by keeping it."""
    price, quote = desk.post("/v1/prices", BATTERY).body, issued(desk)
    assert quote["number"] == "2026-00001"
    assert quote["issued_by"] == "desk key"
    assert (quote["revision"], quote["state"]) == (1, "issued")
    formatted = {name: quote["formatted"][name] for name in price["formatted"]}
    assert {name: quote[name] for name in price} | {"formatted": formatted} == price


def test_numbers_count_up_within_the_year_of_issue(service: Service, desk: Caller):
    """And begin again with the next year, in UTC."""
    service.clock.now = dt.datetime(2026, 12, 31, 23, 59, tzinfo=dt.UTC)
    numbers = [issued(desk)["number"], issued(desk)["number"]]
    service.clock.forward(minutes=1)
    assert [*numbers, issued(desk)["number"]] == ["2026-00001", "2026-00002", "2027-00001"]


@pytest.mark.parametrize(
    ("book", "valid_until", "over"),
    [
        # 30 days from 2 March; the end of 1 April in Dublin (UTC+1 from 29 March) and in Chicago (UTC-5 from 8 March).
        ("ballyquarn", "2026-04-01", dt.datetime(2026, 4, 1, 23, 0, tzinfo=dt.UTC)),
        ("peddrick-mills", "2026-04-01", dt.datetime(2026, 4, 2, 5, 0, tzinfo=dt.UTC)),
    ],
)
def test_a_quote_holds_until_its_last_day_is_over_where_the_shop_is(
    service: Service, desk: Caller, book: str, valid_until: str, over: dt.datetime
):
    """Both sides of the moment, by the clock that the service is given."""
    quote = issued(desk, query=f"?book={book}")
    assert quote["valid_until"] == valid_until
    assert dt.datetime.fromisoformat(quote["expires_at"]) == over
    service.clock.now = over - dt.timedelta(microseconds=1)
    assert desk.get(f"/v1/quotes/{quote['id']}").body["state"] == "issued"
    assert ids(desk.get("/v1/quotes?state=issued").body["quotes"]) == [quote["id"]]
    service.clock.now = over
    assert desk.get(f"/v1/quotes/{quote['id']}").body["state"] == "expired"
    assert desk.get("/v1/quotes?state=issued").body["quotes"] == []
    assert ids(desk.get("/v1/quotes?state=expired").body["quotes"]) == [quote["id"]]


def test_quotes_are_listed_newest_first_and_paged_to_the_end(service: Service, desk: Caller):
    """Every quote once; no link from the last page, full though it is."""
    made = []
    for _ in range(6):
        made.append(issued(desk)["id"])
        service.clock.forward(seconds=1)
    for limit, sizes in ((4, [4, 2]), (3, [3, 3]), (6, [6]), (1, [1] * 6), (100, [6])):
        found = pages(desk, f"/v1/quotes?limit={limit}")
        assert [len(page) for page in found] == sizes
        assert ids([quote for page in found for quote in page]) == made[::-1]


def test_pages_keep_the_conditions_that_were_asked(service: Service, desk: Caller):
    """The link carries them on, words with signs included."""
    for job in (BATTERY, SCREEN, BATTERY, SCREEN, BATTERY):
        issued(desk, job)
        service.clock.forward(seconds=1)
    found = pages(desk, "/v1/quotes?limit=2&words=Kessoway%205&state=issued")
    assert [[quote["device"] for quote in page] for page in found] == [["kessoway-5"] * 2, ["kessoway-5"]]


def test_a_quote_issued_while_somebody_pages_is_not_shown_twice(service: Service, desk: Caller):
    """Cursors stand at a quote, not at a number of quotes."""
    made = []
    for _ in range(3):
        made.append(issued(desk)["id"])
        service.clock.forward(seconds=1)
    first = desk.get("/v1/quotes?limit=2")
    issued(desk)
    second = desk.get(first.headers["Link"].partition(">")[0].removeprefix("<"))
    assert ids(first.body["quotes"] + second.body["quotes"]) == made[::-1]


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("", [3, 2, 1, 0]),
        ("number=2026-00002", [1]),
        ("number=2026", []),
        ("book=peddrick-mills", [2]),
        ("book=none", []),
        ("device=kessoway-5", [2, 0]),
        ("device=kessoway", []),
        ("words=kessoway", [3, 2, 0]),
        ("words=KESSOWAY 4", [3]),
        ("words=quellimar", [3, 2, 0]),
        ("words=dunnec-21", [1]),
        ("words=%25", []),
        ("words=_", []),
        ("words=%5C", []),
        ("words=none", []),
        ("state=issued", [3, 2]),
        ("state=expired", [1, 0]),
        ("since=2026-03-02", [3, 2, 1, 0]),
        ("since=2026-03-03", [3, 2]),
        ("since=2026-04-05", []),
        ("until=2026-03-02", [1, 0]),
        ("until=2026-03-01", []),
        ("until=2026-04-04", [3, 2, 1, 0]),
        ("since=2026-03-03&until=2026-04-03", []),
        ("device=kessoway-5&state=issued", [2]),
        ("device=kessoway-5&state=expired&words=kess&book=ballyquarn&number=2026-00001", [0]),
    ],
)
def test_quotes_are_found_by_all_that_is_asked(service: Service, desk: Caller, query: str, found: list[int]):
    """Two of 2 March, two of 4 April, when the first two are over."""
    made = [issued(desk, BATTERY)["id"]]
    service.clock.forward(microseconds=1)
    made.append(issued(desk, SCREEN)["id"])
    service.clock.now = dt.datetime(2026, 4, 4, 12, tzinfo=dt.UTC)
    made.append(issued(desk, BATTERY, "?book=peddrick-mills")["id"])
    service.clock.forward(seconds=1)
    made.append(issued(desk, DIAGNOSIS)["id"])
    listed = ids(desk.get(f"/v1/quotes?{query.replace(' ', '%20')}").body["quotes"])
    assert [made.index(each) for each in listed] == found


def test_a_summary_says_what_the_quote_says(desk: Caller):
    """With its amounts and days also as text."""
    quote = issued(desk)
    (summary,) = desk.get("/v1/quotes").body["quotes"]
    assert summary["title"] == "Quellimar Kessoway 5"
    assert summary["procedures"] == ["battery"]
    same = ("id", "number", "revision", "state", "issued_at", "valid_until", "currency", "totals")
    assert {name: summary[name] for name in same} == {name: quote[name] for name in same}
    assert summary["formatted"] == {name: quote["formatted"][name] for name in ("issued_at", "valid_until", "totals")}


# Beyond what the desk may decide: more than max_discount (0.15), or below the floor.
LARGEST = BATTERY | {"discount": {"rate": "0.15", "reason": "came back"}}
TOO_LARGE = BATTERY | {"discount": {"rate": "0.1501", "reason": "came back"}}
GIVEN_AWAY = BATTERY | {"discount": {"rate": "0.90", "reason": "a friend"}}


def test_the_desk_may_give_the_largest_discount(desk: Caller):
    """And is told by the economics that it may see whether that is below the floor."""
    assert issued(desk, LARGEST)["job"]["discount"] == {"rate": "0.15", "reason": "came back"}


@pytest.mark.parametrize(("job", "at"), [(TOO_LARGE, ["/discount/rate"]), (GIVEN_AWAY, ["/discount/rate", ""])])
def test_the_desk_may_not_go_beyond(service: Service, desk: Caller, job: Any, at: list[str]):
    """Refused with the reason, and nothing is kept, not even a number."""
    before = service.kept()
    assert pointers(desk.post("/v1/quotes", job), 403, "not-allowed") == at
    assert service.kept() == before
    assert issued(desk)["number"] == "2026-00001"


@pytest.mark.parametrize("job", [TOO_LARGE, GIVEN_AWAY])
def test_the_owner_may_go_beyond(service: Service, job: Any):
    """And sees that it is below the floor."""
    quote = issued(service.caller("owner"), job)
    assert quote["economics"]["below_floor"] is (job is GIVEN_AWAY)


def test_what_may_not_be_issued_may_be_priced(desk: Caller):
    """The desk can see what the owner would have to agree to."""
    assert desk.post("/v1/prices", GIVEN_AWAY).status == 200


def test_a_form_key_may_not_issue(service: Service):
    """The web form asks prices; nothing is kept."""
    before = service.kept()
    problem(service.caller("form").post("/v1/quotes", BATTERY), 403, "not-allowed")
    assert service.kept() == before


@pytest.mark.parametrize(
    ("book", "moment", "date", "allowed"),
    [
        ("ballyquarn", dt.datetime(2026, 3, 2, 12, tzinfo=dt.UTC), "2026-03-01", False),
        ("ballyquarn", dt.datetime(2026, 3, 2, 12, tzinfo=dt.UTC), "2026-03-02", True),
        ("ballyquarn", dt.datetime(2026, 3, 2, 12, tzinfo=dt.UTC), "2026-03-09", True),
        # 3 March has begun in Dublin, not in Chicago.
        ("ballyquarn", dt.datetime(2026, 3, 3, 1, tzinfo=dt.UTC), "2026-03-02", False),
        ("peddrick-mills", dt.datetime(2026, 3, 3, 1, tzinfo=dt.UTC), "2026-03-02", True),
    ],
)
def test_no_quote_is_issued_for_a_day_that_is_over(
    service: Service, desk: Caller, book: str, moment: dt.datetime, date: str, allowed: bool
):
    """Where the shop is; a price may be asked for any day."""
    service.clock.now = moment
    job = BATTERY | {"date": date}
    reply = desk.post(f"/v1/quotes?book={book}", job)
    if allowed:
        assert reply.body["job"]["date"] == date
    else:
        assert pointers(reply, 422, "out-of-range") == ["/date"]
        assert service.kept() == (0, 0)
    assert desk.post(f"/v1/prices?book={book}", job).status == 200


def test_a_quote_of_an_unknown_book_is_not_found(service: Service, desk: Caller):
    """The codes of those that there are stand by."""
    (error,) = problem(desk.post("/v1/quotes?book=atlantis", BATTERY), 404, "not-found")
    assert error["allowed"] == ["ballyquarn", "peddrick-mills"]
    assert service.kept() == (0, 0)


def test_a_quote_is_read_in_the_locale_that_is_asked(desk: Caller):
    """In its job's if none is; figures are the same."""
    quote = issued(desk, BATTERY | {"locale": "de-DE"})
    place = f"/v1/quotes/{quote['id']}"
    german, irish = desk.get(place).body, desk.get(f"{place}?locale=en-IE").body
    browser = desk.get(place, Accept_Language="fr-FR").body
    assert [each["locale"] for each in (quote, german, irish, browser)] == ["de-DE", "de-DE", "en-IE", "fr-FR"]
    assert german["totals"] == irish["totals"]
    assert german["formatted"]["totals"] != irish["formatted"]["totals"]


@pytest.mark.parametrize("tag", ["en-ZZ", "xx", "", "en_IE", "x" * 5000])
def test_a_quote_is_not_read_in_an_unknown_locale(desk: Caller, tag: str):
    """What is asked for expressly is not guessed at."""
    place = f"/v1/quotes/{issued(desk)['id']}"
    assert pointers(desk.get(f"{place}?locale={tag}"), 422, "invalid-request") == ["/locale"]
