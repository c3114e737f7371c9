"""GET /v1/price-list: every price, in three formats, and never worked out twice."""

import csv
import gzip
import io
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from benchmarks.generated_book import BookSize, write_book
from quoter.api.http.services import services_of
from quoter.api.prices.price_list import MOST_ENTRIES
from quoter.service.rates.price_lists import MOST_AT_WORK, SMALL_LIST

from .owning import Owner
from .problems import pointers, problem
from .running import RATES, Caller, Reply, Service, a_service
from .test_keys import replaced

LIST = "/v1/price-list"

# What the shop pays and wants to earn, with more decimals than any price of the list has.
COST, FREIGHT, LANDED, MARKUP, MARGIN = "24.9731", "0.9137", "25.8868", "0.5519", "0.2113"
LINKED_DATA = "application/ld+json"


@pytest.fixture(scope="module")
def form(shared: Service) -> Caller:
    """The shop's own site."""
    return shared.caller("form")


def rows(reply: Reply) -> list[dict[str, str]]:
    """Of a CSV file."""
    return list(csv.DictReader(io.StringIO(reply.content.decode(), newline=""), strict=True))


def priced(service: Service, book: str = "ballyquarn") -> int:
    """How many entries of the list of today have been priced since the start."""
    found = services_of(service.app)
    rates = found.shelf.named(book).book
    return found.price_lists.of(rates, found.quoting.today(rates)).priced


# What it says.


@pytest.mark.parametrize(
    ("book", "locale"), [("ballyquarn", "en-IE"), ("ballyquarn", "ar"), ("peddrick-mills", "en-US")]
)
def test_every_price_is_that_of_the_same_job(shared: Service, form: Caller, book: str, locale: str):
    """Net, tax, gross, days and words of every entry, as POST /v1/prices has them; refused for the same reason."""
    entries = form.get(f"{LIST}?book={book}&locale={locale}").body["entries"]
    jobs = [
        {
            "device": each["device"],
            "repairs": [{"procedure": each["procedure"], "grade": each["grade"]}],
            "locale": locale,
        }
        for each in entries
    ]
    prices = shared.caller("desk").post(f"/v1/prices?book={book}", jobs).body
    assert len(entries) > 100
    for entry, price in zip(entries, prices, strict=True):
        if entry["refused"]:
            assert price["detail"] == entry["refused"]["detail"]
            continue
        assert {name: entry[name] for name in ("net", "tax", "gross")}.items() <= price["totals"].items()
        shown = "gross" if price["display"] == "inclusive" else "net"
        assert entry["price"] == price["totals"][shown]
        assert entry["formatted"]["price"] == price["formatted"]["totals"][shown]
        assert entry["formatted"]["lead_time"] == price["formatted"]["lead_time"]
        assert entry["lead_days"] == price["lead_days"]
        assert entry["procedure_title"] == price["formatted"]["warranty"][0]["procedure"]


def test_the_three_formats_say_the_same(form: Caller):
    """Of every entry that has a price; one that has none is in JSON and CSV with the reason."""
    document, table = form.get(LIST).body, rows(form.get(LIST, Accept="text/csv"))
    catalogue = form.get(LIST, Accept=LINKED_DATA).body
    assert [row["price"] for row in table] == [each["price"] or "" for each in document["entries"]]
    assert [row["grade_title"] for row in table] == [each["grade_title"] or "" for each in document["entries"]]
    offered = [offer["priceSpecification"]["price"] for offer in catalogue["itemListElement"]]
    assert offered == [each["price"] for each in document["entries"] if each["price"]]
    assert {row["tax_included"] for row in table} == {"yes"}


def test_titles_and_figures_are_in_the_language_that_is_asked_for(form: Caller):
    """By the parameter, else by the header; the answer says which it is."""
    german = form.get(f"{LIST}?locale=de-DE&device=kessoway-5&procedure=battery&grade=genuine")
    assert german.body["entries"][0]["procedure_title"] == "Akku"
    assert german.body["entries"][0]["formatted"]["price"] == "99,95\N{NO-BREAK SPACE}€"
    assert german.headers["Content-Language"] == german.body["locale"] == "de-DE"
    assert form.get(f"{LIST}?limit=1", Accept_Language="fr").body["locale"] == "fr"


# Which of it.


@pytest.mark.parametrize(
    ("query", "keeps"),
    [
        ("device=kessoway-5", lambda each: each["device"] == "kessoway-5"),
        ("kind=wearable", lambda each: each["kind"] == "wearable"),
        ("procedure=battery", lambda each: each["procedure"] == "battery"),
        ("grade=genuine", lambda each: each["grade"] == "genuine"),
        (
            "grade=genuine&kind=phone&procedure=screen",
            lambda each: (each["grade"], each["kind"], each["procedure"]) == ("genuine", "phone", "screen"),
        ),
        ("words=kess+dial", lambda each: each["device"] == "kessoway-dial"),
    ],
)
def test_filters_leave_what_they_name(form: Caller, query: str, keeps: Any):
    """In the order of the whole list."""
    whole = form.get(LIST).body["entries"]
    found = form.get(f"{LIST}?{query}").body
    assert found["entries"] == [each for each in whole if keeps(each)]
    assert found["count"] == len(found["entries"]) > 0


@pytest.mark.parametrize("query", ["words=none", "device=kessoway-5&kind=tablet", "words=dial&device=kessoway-5"])
def test_filters_that_match_nothing_leave_nothing(form: Caller, query: str):
    """A list all the same."""
    assert form.get(f"{LIST}?{query}").body["entries"] == []
    assert rows(form.get(f"{LIST}?{query}&format=csv")) == []


@pytest.mark.parametrize("name", ["device", "kind", "procedure", "grade", "book"])
def test_a_code_that_does_not_exist_is_not_found(form: Caller, name: str):
    """And those that do are named."""
    (error,) = problem(form.get(f"{LIST}?{name}=xx"), 404, "not-found")
    assert error["pointer"] == f"/{name}"
    assert error["allowed"]


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ("format=xml", "/format"),
        ("limit=0", "/limit"),
        ("limit=1_0", "/limit"),
        ("limit=٣", "/limit"),
        (f"limit={MOST_ENTRIES + 1}", "/limit"),
        ("after=x", "/after"),
        ("locale=xx-YY", "/locale"),
        ("colour=red", "/colour"),
    ],
)
def test_a_parameter_that_makes_no_sense_is_refused(form: Caller, query: str, pointer: str):
    """With where it is wrong."""
    assert pointers(form.get(f"{LIST}?{query}"), 422, "invalid-request") == [pointer]


def test_pages_come_one_after_the_other(form: Caller):
    """RFC 8288: the link leads on until there is no more; together they are the list, and each says how long it is."""
    whole = form.get(LIST).body
    found, path = [], f"{LIST}?limit=50"
    while path:
        reply = form.get(path)
        found.append(reply.body)
        path = reply.headers.get("Link", "").partition(">")[0].removeprefix("<")
    assert [entry for page in found for entry in page["entries"]] == whole["entries"]
    assert {page["count"] for page in found} == {whole["count"]}
    assert len(found) == -(-whole["count"] // 50)


# As what.


@pytest.mark.parametrize(
    ("accept", "content_type"),
    [
        ("*/*", "application/json"),
        ("", "application/json"),
        ("text/csv", "text/csv; charset=utf-8; header=present"),
        ("text/*", "text/csv; charset=utf-8; header=present"),
        (LINKED_DATA, LINKED_DATA),
        ("application/json;q=0.5, application/ld+json", LINKED_DATA),
        ("text/html, application/xhtml+xml, */*;q=0.8", "application/json"),
    ],
)
def test_the_header_accept_decides(form: Caller, accept: str, content_type: str):
    """RFC 9110, 12.5.1."""
    reply = form.get(f"{LIST}?limit=1", **({"Accept": accept} if accept else {}))
    assert reply.headers["Content-Type"] == content_type
    assert "Accept" in reply.headers["Vary"].split(", ")


def test_the_format_can_be_asked_for_in_the_address(form: Caller):
    """Then it does not depend on the header."""
    reply = form.get(f"{LIST}?limit=1&format=csv&locale=en-IE", Accept="application/json")
    assert reply.headers["Content-Type"].startswith("text/csv")
    assert "Accept" not in reply.headers["Vary"].split(", ")


def test_other_types_are_not_to_be_had(form: Caller):
    """406, and what there is."""
    (error,) = problem(form.get(LIST, Accept="text/html"), 406, "not-acceptable")
    assert error["allowed"] == ["application/json", "text/csv", LINKED_DATA]


def test_a_list_comes_compressed_to_who_takes_it(form: Caller):
    """The same content, and a tag of its own (RFC 9110, 8.8.3.3); who takes neither coding gets 406."""
    plain = form.get(LIST, Accept="text/csv", Accept_Encoding="identity")
    packed = form.get(LIST, Accept="text/csv", Accept_Encoding="gzip")
    assert packed.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(packed.content) == plain.content
    assert int(plain.headers["Content-Length"]) == len(plain.content) > 5 * len(packed.content)
    assert "Content-Encoding" not in plain.headers
    assert packed.headers["ETag"] != plain.headers["ETag"]
    assert "Accept-Encoding" in plain.headers["Vary"]
    problem(form.get(LIST, Accept_Encoding="identity;q=0"), 406, "not-acceptable")


# How often it is worked out.


def test_who_has_it_is_told_so_and_nothing_is_worked_out(service: Service):
    """RFC 9110, 15.4.5: 304 with the headers that a 200 would have; not even after everything was forgotten."""
    form = service.caller("form")
    first = form.get(LIST)
    with_all = priced(service)
    assert with_all == first.body["count"]
    again = form.get(LIST, If_None_Match=f'"other", W/{first.headers["ETag"]}')
    assert (again.status, again.content) == (304, b"")
    for name in ("ETag", "Cache-Control", "Vary"):
        assert again.headers[name] == first.headers[name]
    assert form.get(LIST).content == first.content
    assert form.get(LIST, Accept="text/csv").status == 200
    assert priced(service) == with_all


def test_a_service_that_starts_anew_knows_what_others_have(tmp_path: Path):
    """The tag hangs on what the book says, so that a restart costs nobody a download."""
    with a_service(tmp_path) as service:
        tag = service.caller("form").get(LIST).headers["ETag"]
    with a_service(tmp_path) as service:
        assert service.caller("form").get(LIST, If_None_Match=tag).status == 304
        assert priced(service) == 0


def test_a_page_costs_what_is_on_it(service: Service):
    """A form that shows one device does not wait for the others."""
    form = service.caller("form")
    page = form.get(f"{LIST}?device=kessoway-5").body
    assert priced(service) == page["count"]
    form.get(f"{LIST}?limit=3")
    assert priced(service) == page["count"] + 3


def test_the_tag_changes_with_whatever_decides_the_bytes(form: Caller):
    """Format, language, filters, page, book, coding."""
    queries = ["", "?format=csv", "?format=jsonld", "?locale=de", "?device=kessoway-5", "?kind=phone", "?words=kess"]
    queries += ["?limit=2", "?limit=3", "?book=peddrick-mills", "?grade=genuine", "?procedure=battery"]
    tags = [form.get(f"{LIST}{query}").headers["ETag"] for query in queries]
    assert len(set(tags)) == len(queries)
    assert form.get(LIST, Accept="application/json").headers["ETag"] == tags[0]


def test_a_publication_changes_the_list_at_once(service: Service):
    """Another version counts: other prices, another tag, for who asks with the old one."""
    form, owner = service.caller("form"), Owner(service)
    old = form.get(LIST)
    owner.published("9.90")
    new = form.get(LIST, If_None_Match=old.headers["ETag"])
    assert new.status == 200
    assert new.headers["ETag"] != old.headers["ETag"]
    assert new.body["entries"] != old.body["entries"]


def test_a_version_that_counts_later_changes_the_list_when_it_counts(service: Service):
    """Not when it is published."""
    form, owner = service.caller("form"), Owner(service)
    old = form.get(LIST).headers["ETag"]
    owner.published("9.90", counts_from="2026-03-05T00:00:00Z")
    service.clock.forward(days=1)
    assert form.get(LIST, If_None_Match=old).status == 304
    service.clock.forward(days=2)
    assert form.get(LIST, If_None_Match=old).status == 200


def test_another_tax_rate_changes_the_list_and_midnight_does_not(tmp_path: Path):
    """The rate changes on 5 March 2026 where the shop is; the day before is said to be the last."""
    rates = shutil.copytree(RATES, tmp_path / "rates")
    old_rate = '{name = "VAT", rate = "0.135", from = "2003-01-01"}'
    new_rate = '{name = "VAT", rate = "0.09", from = "2026-03-05"}'
    replaced(rates / "tax" / "ireland.toml", old_rate, f"{old_rate}, {new_rate}")
    with a_service(tmp_path, rates / "ballyquarn") as service:
        form = service.caller("form")
        old = form.get(LIST)
        assert old.body["tax_rates"] == {"since": "2021-03-01", "until": "2026-03-04"}
        offer = form.get(f"{LIST}?limit=1", Accept=LINKED_DATA).body["itemListElement"][0]
        assert offer["priceSpecification"]["validThrough"] == "2026-03-04"
        for _ in range(2):  # two midnights
            service.clock.forward(days=1)
            assert form.get(LIST, If_None_Match=old.headers["ETag"]).status == 304
        service.clock.forward(days=1)
        new = form.get(LIST, If_None_Match=old.headers["ETag"])
        assert (new.status, new.body["tax_rates"]) == (200, {"since": "2026-03-05", "until": None})
        assert new.body["entries"][0]["tax"] != old.body["entries"][0]["tax"]


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    """A service with more entries than are a matter of a moment."""
    folder = tmp_path_factory.mktemp("large")
    size = BookSize(SMALL_LIST // 12 + 1)
    assert size.entries > SMALL_LIST
    with a_service(folder, write_book(size, folder / "rates")) as service:
        yield service


def test_large_lists_do_not_take_every_thread(large: Service):
    """While some are worked on already, others are asked to come again; what is small or at hand is answered."""
    form, lists = large.caller("form"), services_of(large.app).price_lists
    assert form.get(f"{LIST}?format=csv").status == 200
    for _ in range(MOST_AT_WORK):
        assert lists.at_work.acquire(blocking=False)
    try:
        refused = form.get(LIST)
        problem(refused, 503, "unavailable")
        assert int(refused.headers["Retry-After"]) > 0
        assert form.get(f"{LIST}?limit={SMALL_LIST}").status == 200
        assert form.get(f"{LIST}?format=csv").status == 200
    finally:
        lists.at_work.release(MOST_AT_WORK)
    assert form.get(LIST).status == 200


# Who may read it.


@pytest.fixture(scope="module")
def telltale(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    """The demo book with figures for what the shop pays and wants to earn that occur nowhere else."""
    folder = tmp_path_factory.mktemp("telltale")
    rates = shutil.copytree(RATES, folder / "rates")
    book = rates / "ballyquarn"
    replaced(book / "parts.csv", "kessoway-5,24.90,,0.90", f"kessoway-5,{COST},,{FREIGHT}")
    replaced(book / "book.toml", 'rate = "0.55"', f'rate = "{MARKUP}"')
    replaced(book / "book.toml", 'minimum_margin = "0.20"', f'minimum_margin = "{MARGIN}"')
    with a_service(folder, book) as service:
        yield service


@pytest.mark.parametrize("name", ["json", "csv", "jsonld"])
def test_no_list_tells_a_cost(telltale: Service, name: str):
    """Whoever asks gets the same bytes, and no figure of the shop's own is in them."""
    replies = [telltale.caller(scope).get(f"{LIST}?format={name}") for scope in ("form", "desk", "owner")]
    assert len({reply.content for reply in replies}) == 1
    for figure in (COST, FREIGHT, LANDED, MARKUP, MARGIN, "hourly", "cost", "markup", "margin", "QK5-CEL-G"):
        assert figure not in replies[0].text


def test_a_list_is_kept_by_who_asked_for_it_alone(form: Caller):
    """RFC 9111, 5.2.2: private, and never used without asking whether it still holds."""
    assert form.get(f"{LIST}?limit=1").headers["Cache-Control"] == "private, no-cache"
