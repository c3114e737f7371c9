"""The form without scripts, as a browser sends it: plain requests, one after the other."""

import re
import time
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlencode

import pytest

from .hosting import form_key
from .nursery import ROOT
from .running import Answer, Service, running_service

CHOSEN = {"device": "kessoway-5", "repair": "battery", "grade-battery": "compatible", "finding": "liquid"}
WRITTEN = {"name": "Aoife Example", "phone": "+353 1 555 0188", "noticed": "Wet.\r\nYesterday.", "agreed": "yes"}
OWN = {"Sec-Fetch-Site": "same-origin", "Content-Type": "application/x-www-form-urlencoded"}


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Of the service."""
    return tmp_path_factory.mktemp("asking") / "quoter.db"


@pytest.fixture(scope="module")
def shared(database: Path) -> Iterator[Service]:
    """A service with two books."""
    with running_service(database, ROOT / "rates/ballyquarn", ROOT / "rates/peddrick-mills") as running:
        yield running


@pytest.fixture(scope="module")
def form(shared: Service, database: Path) -> str:
    """Where the form stands."""
    return form_of(database)


def form_of(database: Path) -> str:
    """Where the form of a new key stands."""
    return f"/ask/{form_key(database, 'https://shop.example').split('_')[1]}"


def get(service: Service, form: str, **query: str) -> Answer:
    """A page of it."""
    return service.ask("GET", f"{form}?{urlencode(query)}", headers={"Accept-Language": "en"})


def token(service: Service, form: str) -> str:
    """Of a form that was opened long enough ago."""
    page = get(service, form, **CHOSEN, step="price").body.decode()
    time.sleep(3.1)
    return re.findall(r'name="token" value="([^"]+)"', page)[0]


def sent(service: Service, form: str, headers: dict[str, str] = OWN, **members: str) -> Answer:
    """What comes of sending it."""
    return service.ask(
        "POST", form, urlencode(CHOSEN | WRITTEN | members).encode(), {"Accept-Language": "en"} | headers
    )


def test_only_the_key_of_a_form_opens_it(shared: Service, form: str) -> None:
    """A desk's key, an unknown one and a whole key are answered alike."""
    desk = shared.keys["desk"].split("_")[1]
    answers = [shared.ask("GET", f"/ask/{each}") for each in (desk, "0" * 12, shared.keys["form"], "x")]
    assert {(answer.status, answer.body) for answer in answers} == {(404, answers[0].body)}
    assert get(shared, form).status == 200


def test_nobody_lists_frames_or_keeps_it(shared: Service, form: str) -> None:
    """Content Security Policy Level 3, section 6.4.2; RFC 9111, section 5.2.2.5."""
    headers = get(shared, form, **CHOSEN, step="price").headers
    assert "noindex" in headers["X-Robots-Tag"]
    assert headers["Cache-Control"] == "no-store"
    assert "frame-ancestors 'self'" in headers["Content-Security-Policy"]
    assert "Set-Cookie" not in headers


def test_the_same_form_twice_is_one_enquiry(shared: Service, form: str) -> None:
    """As a double click sends it; both are led to the same reference, and nothing personal stands in the address."""
    given = token(shared, form)
    answers = [sent(shared, form, token=given) for _ in range(2)]
    assert [answer.status for answer in answers] == [303, 303]
    places = {answer.headers["Location"] for answer in answers}
    assert len(places) == 1
    place = places.pop()
    assert not any(text in place for text in ("Aoife", "0188", "Wet", given))
    reference = re.findall(r"reference=(A\d{4}-\d+)", place)[0]
    found = [each for each in shared.call("GET", "/v1/enquiries").json["enquiries"] if each["reference"] == reference]
    assert len(found) == 1
    whole = shared.call("GET", f"/v1/enquiries/{found[0]['id']}").json
    assert whole["noticed"] == "Wet.\nYesterday."
    assert whole["indication"]["job"]["repairs"] == [{"procedure": "battery", "grade": "compatible"}]
    assert reference in shared.ask("GET", place).body.decode()


def test_what_was_written_is_kept_where_something_is_wrong(shared: Service, form: str) -> None:
    """With the same token, so that it can be sent again."""
    given = token(shared, form)
    answer = sent(shared, form, token=given, email="<nobody>")
    page = answer.body.decode()
    assert answer.status == 422
    assert 'value="Aoife Example"' in page
    assert 'value="&lt;nobody&gt;"' in page
    assert 'aria-describedby="fault-email"' in page
    assert given in page


def test_another_site_cannot_send_it(shared: Service, form: str) -> None:
    """By the word of the browser (Fetch Metadata), or by its Origin."""
    given = token(shared, form)
    for lie in ({"Sec-Fetch-Site": "cross-site"}, {"Origin": "https://other.example"}, {}):
        headers = lie | {"Content-Type": OWN["Content-Type"]}
        answer = sent(shared, form, headers, token=given)
        assert answer.status == 403
        assert "Aoife Example" in answer.body.decode()
        assert "About" not in answer.body.decode()  # the price is not worked out for it


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"homepage": "https://spam.example"}, "hidden field"),
        ({"token": "1.x.forged"}, "open for a long time"),
    ],
)
def test_a_program_gets_no_further(shared: Service, form: str, changed: dict[str, str], told: str) -> None:
    """The trap and the token; a person who was caught sends once more."""
    answer = sent(shared, form, **({"token": token(shared, form)} | changed))
    assert answer.status == 422
    assert told in answer.body.decode()


def test_who_is_too_quick_sends_once_more(shared: Service, form: str) -> None:
    """With the token that they have."""
    for _ in range(5):  # a machine that pauses for three seconds is no quick visitor
        page = get(shared, form, **CHOSEN, step="price").body.decode()
        given = re.findall(r'name="token" value="([^"]+)"', page)[0]
        answer = sent(shared, form, token=given)
        if answer.status != 303:
            break
    assert answer.status == 422
    assert "once more" in answer.body.decode()
    time.sleep(3.1)
    assert sent(shared, form, token=given).status == 303


def test_nothing_but_a_reference_is_shown_as_one(shared: Service, form: str) -> None:
    """Nobody can make the page say something else by its address."""
    assert shared.ask("GET", f"{form}/sent?reference=Call+0900").status == 404


def test_nobody_is_thanked_for_an_enquiry_that_there_is_not(shared: Service, form: str) -> None:
    """Nor for one that is somebody else's: a reference can be guessed, what the form led on to cannot."""
    page = get(shared, form, **CHOSEN, step="price").body.decode()
    given = re.findall(r'name="token" value="([^"]+)"', page)[0]
    time.sleep(3.1)
    thanks = sent(shared, form, token=given).headers["Location"]
    assert shared.ask("GET", thanks).status == 200
    for other in (
        re.sub("A2", "A3", thanks),
        re.sub("form=[0-9a-f]", "form=x", thanks),
        re.sub("&?form=[0-9a-f]+", "", thanks),
    ):
        assert other != thanks
        assert shared.ask("GET", other).status == 404


@pytest.mark.parametrize(
    "lost", [{"finding": "gone"}, {"repair": "gone"}, {"grade-battery": "gone"}, {"device": "gone"}], ids=str
)
def test_what_the_book_does_not_have_is_told(shared: Service, form: str, lost: dict[str, str]) -> None:
    """An old link may have lost a warning: nobody comes to the price before they have looked."""
    page = get(shared, form, **CHOSEN | lost, step="price").body.decode()
    assert 'role="alert" id="lost"' in page
    assert 'id="ask"' not in page
    assert 'id="lost"' not in get(shared, form, **CHOSEN).body.decode()


def test_a_link_makes_the_page_say_no_more_than_a_code(shared: Service, form: str) -> None:
    """Nobody can make the page say something else by its address."""
    page = get(shared, form, **CHOSEN | {"finding": "Call 0900 now"}).body.decode()
    assert "list: …. Please check" in page
    assert "0900" not in page


def test_what_is_not_found_is_told(shared: Service, form: str) -> None:
    """And another book is another form."""
    assert "No device has these words." in get(shared, form, words="zzzzzz").body.decode()
    assert get(shared, form, book="gone").status == 404


def test_a_form_that_is_no_more_says_how_the_shop_is_reached(shared: Service) -> None:
    """Codes that are printed outlive a key."""
    page = shared.ask("GET", "/ask/000000000000").body.decode()
    assert "Otterquay Device Repair" in page
    assert "tel:+35315550142" in page
    assert "mailto:" in page


def test_everything_wrong_is_told_at_once(shared: Service, form: str) -> None:
    """And the browser does not stop at the first itself."""
    given = token(shared, form)
    wrong = {name: text for name, text in WRITTEN.items() if name != "agreed"} | {"email": "x@", "phone": "abc"}
    body = urlencode(CHOSEN | wrong | {"token": given}).encode()
    page = shared.ask("POST", form, body, {"Accept-Language": "en"} | OWN).body.decode()
    assert all(f'id="fault-{name}"' in page for name in ("phone", "email", "agreed"))
    assert re.search(r'<form [^>]*id="ask" novalidate>', page)


def test_consent_is_to_what_is_true(shared: Service, form: str) -> None:
    """What somebody has agreed to is the shop's proof, which time never erases (docs/personal-data.md)."""
    page = get(shared, form, **CHOSEN, step="price").body.decode()
    assert "If no quote is agreed to, it is erased once nothing has happened for 180 days" in page


def test_another_book_and_language_stay_chosen(shared: Service, form: str) -> None:
    """From page to page."""
    page = get(shared, form, book="peddrick-mills", language="de").body.decode()
    assert '<html lang="de"' in page
    links = re.findall(r'href="(/ask/[^"]+device=[^"]+)"', page)
    assert links
    assert all("book=peddrick-mills" in link and "language=de" in link for link in links)


def test_who_asks_too_often_is_told_when_to_come_back(tmp_path: Path) -> None:
    """RFC 6585, section 4. What was written is not lost by it, and no price is worked out."""
    database, options = tmp_path / "quoter.db", ("--form-requests-a-minute", "1")
    with running_service(database, ROOT / "rates/ballyquarn", options=options) as service:
        form = form_of(database)
        assert get(service, form).status == 200
        refused, late = get(service, form), sent(service, form, token="x")
    assert refused.status == 429
    assert int(refused.headers["Retry-After"]) > 0
    assert "Please try again in 1 minute." in refused.body.decode()
    assert late.status == 429
    assert int(late.headers["Retry-After"]) > 0
    assert 'value="Aoife Example"' in late.body.decode()
    assert "Please try again in 1 minute." in late.body.decode()
    assert "About" not in late.body.decode()
