"""Who may do what, and what they see of it."""

import datetime as dt
import re
import shutil
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import orjson
import pytest

import quoter.app  # noqa: F401 - declares every operation
from quoter.api.http.operations import OPERATIONS, WHOLE_NUMBERS, Operation
from quoter.records.access import SCOPES
from quoter.service.clock import stamp
from quoter.store.database import Store

from .problems import problem
from .running import BATTERY, RATES, SITE, Caller, Reply, Service, a_service, seen

GUARDED = [declared for declared in OPERATIONS.values() if declared.scopes]


def answer_of(caller: Caller, declared: Operation) -> Reply:
    """An answer of an operation, whatever its parameters."""
    path = re.sub(r"\{(\w+)\}", lambda found: "1" if found[1] in WHOLE_NUMBERS else "kessoway-5", declared.path)
    content = None if declared.body is None else orjson.dumps(declared.body["example"])
    return caller.send(declared.method, path, content)


@pytest.mark.parametrize("scope", SCOPES)
@pytest.mark.parametrize("declared", GUARDED, ids=lambda declared: declared.id)
def test_a_scope_may_do_what_is_declared_and_nothing_else(shared: Service, declared: Operation, scope: str):
    """Every operation that there is, with a key of every scope that there is."""
    reply = answer_of(shared.caller(scope), declared)
    if scope in declared.scopes:
        assert reply.status not in (401, 403)
    else:
        problem(reply, 403, "not-allowed")


@pytest.mark.parametrize("declared", GUARDED, ids=lambda declared: declared.id)
def test_a_guarded_operation_wants_a_key(shared: Service, declared: Operation):
    """Without one: 401, and how to send one."""
    reply = answer_of(shared.caller(None), declared)
    problem(reply, 401, "key-required")
    assert reply.headers["WWW-Authenticate"] == 'Bearer realm="quoter"'


def test_only_the_description_and_the_health_are_open_to_everybody():
    """Whoever opens another operation changes this list, knowingly."""
    everybody = {declared.id for declared in OPERATIONS.values() if not declared.scopes}
    assert everybody == {"describe", "health", "readiness", "readDocs", "readProblem"}


def test_every_key_that_does_not_count_is_answered_with_the_same_bytes(service: Service):
    """Nobody learns whether an id exists, a secret was nearly right, or a key has ended."""
    good, key = service.keyring.new("good", "desk")
    revoked, ended = service.keyring.new("revoked", "desk")
    service.keyring.revoke(ended.id)
    expired, _ = service.keyring.new("expired", "desk", days=1)
    service.clock.forward(days=1)
    secret = good.removeprefix(f"quoter_{key.id}_")
    wrong = [f"quoter_{key.id}_{'x' * len(secret)}", f"quoter_{'0' * 12}_{secret}", revoked, expired]
    malformed = ["", "quoter", "quoter__", good[:-1], good.upper(), f"other_{key.id}_{secret}", "\xfc" * 40, "x" * 5000]
    answers = [Caller(service.app, each).get("/v1/devices") for each in wrong + malformed]
    nobody = Caller(service.app, None)
    answers += [nobody.get("/v1/devices"), nobody.get("/v1/devices", Authorization=f"Basic {good}")]
    problem(answers[0], 401, "key-required")
    assert all(seen(answer) == seen(answers[0]) for answer in answers)
    assert Caller(service.app, good).get("/v1/devices").status == 200


def test_the_word_bearer_may_be_written_as_one_likes(service: Service):
    """RFC 9110 section 11.1: the scheme is case-insensitive."""
    key, _ = service.keyring.new("good", "desk")
    assert Caller(service.app, None).get("/v1/devices", Authorization=f"bearer {key}").status == 200


def test_a_key_that_is_revoked_ends_at_once(service: Service):
    """The next request is refused."""
    presented, key = service.keyring.new("good", "desk")
    caller = Caller(service.app, presented)
    assert caller.get("/v1/devices").status == 200
    service.keyring.revoke(key.id)
    assert caller.get("/v1/devices").status == 401


# What a price shows to whom. These figures of the shop's own occur nowhere else in the book.
COST, FREIGHT, LANDED, MARKUP, MARGIN = "24.97", "0.93", "25.90", "0.5519", "0.2113"


@pytest.fixture(scope="module")
def telltale(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    """The demo book with tell-tale figures for what the shop pays and wants to earn."""
    folder = tmp_path_factory.mktemp("rates")
    book = shutil.copytree(RATES / "ballyquarn", folder / "ballyquarn")
    for profiles in ("tax", "law"):
        shutil.copytree(RATES / profiles, folder / profiles)
    replaced(book / "parts.csv", "kessoway-5,24.90,,0.90", f"kessoway-5,{COST},,{FREIGHT}")
    replaced(book / "book.toml", 'rate = "0.55"', f'rate = "{MARKUP}"')
    replaced(book / "book.toml", 'minimum_margin = "0.20"', f'minimum_margin = "{MARGIN}"')
    with a_service(folder, book) as running:
        yield running


def replaced(path: Path, old: str, new: str) -> None:
    """Changes the one place of a file that says `old`."""
    text = path.read_text()
    assert text.count(old) == 1
    path.write_text(text.replace(old, new))


def price_seen(service: Service, scope: str, *, economics: bool = False) -> Reply:
    """A price as a key sees it."""
    return service.caller(scope, economics=economics).post("/v1/prices", BATTERY | {"findings": ["swollen-cell"]})


def test_a_form_key_sees_what_a_customer_sees(telltale: Service):
    """Neither economics nor derivations nor what the bench is told, and no figure of the shop's own anywhere."""
    reply = price_seen(telltale, "form")
    for shown in (reply.body, reply.body["formatted"]):
        assert {"economics", "plan", "consumption", "parts", "cuts"}.isdisjoint(shown)
    assert all("because" not in line for line in reply.body["lines"])
    for figure in (COST, FREIGHT, LANDED, MARKUP, MARGIN, "hourly", "cost", "markup", "margin"):
        assert figure not in reply.text


def test_a_desk_key_sees_the_plan_and_no_costs(telltale: Service):
    """Derivations only of lines that do not start from what the shop pays."""
    reply = price_seen(telltale, "desk")
    lines = reply.body["lines"]
    assert {line["kind"] for line in lines} >= {"part", "consumable", "labour", "risk", "ending"}
    assert {line["kind"] for line in lines if "because" not in line} == {"part", "consumable"}
    assert "economics" not in reply.body
    assert "economics" not in reply.body["formatted"]
    for member in ("plan", "consumption"):
        assert len(reply.body[member]) == len(reply.body["formatted"][member]) > 0
    assert {part["sku"] for part in reply.body["parts"]} == {line["ref"] for line in lines if line["kind"] == "part"}
    for figure in (COST, FREIGHT, LANDED, MARKUP, MARGIN, "pack_price", "hourly_cost"):
        assert figure not in reply.text


@pytest.mark.parametrize(("scope", "economics"), [("owner", False), ("desk", True)])
def test_keys_that_may_see_economics_see_all(telltale: Service, scope: str, economics: bool):
    """What a part cost, how its price came about, and what the job earns."""
    reply = price_seen(telltale, scope, economics=economics)
    assert all("because" in line for line in reply.body["lines"])
    assert set(reply.body["economics"]) == {"cost", "margin", "floor", "below_floor"}
    assert set(reply.body["formatted"]["economics"]) == {"cost", "margin", "floor"}
    for figure in (COST, FREIGHT, LANDED, MARKUP):
        assert figure in reply.text


def test_a_form_key_never_sees_economics(telltale: Service):
    """Not even where it was asked for when the key was made."""
    assert price_seen(telltale, "form", economics=True).text == price_seen(telltale, "form").text


def test_what_is_offered_for_a_device_tells_no_costs(telltale: Service):
    """Any key may ask for it, the web form's included."""
    reply = telltale.caller("form").get("/v1/devices/kessoway-5")
    assert "QK5-CEL-G" in reply.text
    assert COST not in reply.text


@pytest.mark.parametrize(("economics", "seen"), [(False, False), (True, True)])
def test_a_quote_that_is_read_shows_what_its_reader_may_see(telltale: Service, economics: bool, seen: bool):
    """Whoever issued it: the key of the reader counts."""
    place = telltale.caller("owner").post("/v1/quotes", BATTERY).headers["Location"]
    assert ("economics" in telltale.caller("desk", economics=economics).get(place).body) is seen


@pytest.mark.parametrize(
    "origin", ["", "null", "https://other.example", "http://shop.example", f"{SITE}:8443", f"{SITE}.example", SITE[:-1]]
)
def test_a_forms_key_counts_on_its_own_site_alone(shared: Service, origin: str):
    """RFC 6454 section 5: the same scheme, host and port. Where it counts is not told."""
    form = shared.caller("form")
    assert form.get("/v1/devices").status == 200
    refused = form.get("/v1/devices", Origin=origin)
    problem(refused, 403, "origin-not-allowed")
    assert SITE not in refused.text


def test_a_form_on_a_page_of_the_service_itself_needs_no_origin(shared: Service):
    """Browsers leave it out where a page reads from its own site, and say so in Sec-Fetch-Site."""
    key, _ = shared.keyring.new("own", "form", origins=["http://localhost"])
    own, other = Caller(shared.app, key), shared.caller("form")
    assert own.get("/v1/devices", Sec_Fetch_Site="same-origin").status == 200
    problem(own.get("/v1/devices", Sec_Fetch_Site="cross-site"), 403, "origin-not-allowed")
    problem(other.get("/v1/devices", Origin="", Sec_Fetch_Site="same-origin"), 403, "origin-not-allowed")


@pytest.mark.parametrize("scope", ["desk", "owner"])
def test_other_keys_count_wherever_they_are_sent_from(shared: Service, scope: str):
    """They are secret, and programs send no origin."""
    assert shared.caller(scope).get("/v1/devices", Origin="https://other.example").status == 200


def test_both_keys_count_while_a_key_is_rotated(service: Service):
    """So that a program can be given the new one without an outage; then the old one ends by itself."""
    old_key, kept = service.keyring.new("till", "desk")
    old = Caller(service.app, old_key)
    new = Caller(service.app, service.keyring.rotate(kept.id, overlap=dt.timedelta(hours=2))[0])
    service.clock.forward(hours=2, microseconds=-1)
    assert (old.get("/v1/devices").status, new.get("/v1/devices").status) == (200, 200)
    service.clock.forward(microseconds=1)
    problem(old.get("/v1/devices"), 401, "key-required")
    assert new.get("/v1/devices").status == 200


def test_a_rotated_forms_key_counts_on_the_same_sites(service: Service):
    """And on no others."""
    _, kept = service.keyring.new("site", "form", origins=[SITE])
    new = Caller(service.app, service.keyring.rotate(kept.id)[0], SITE)
    assert new.get("/v1/devices").status == 200
    problem(new.get("/v1/devices", Origin="https://other.example"), 403, "origin-not-allowed")


def last_use(service: Service, caller: Caller) -> str | None:
    """Of the key of a caller."""
    assert caller.key is not None
    key = service.keyring.keys.find(caller.key.split("_")[1])
    assert key is not None
    return key.last_used_at


def test_the_last_use_of_a_key_is_kept(service: Service):
    """Of one that did something; a form's key on another site does not count as used, nor does a wrong scope."""
    desk, form = service.caller("desk"), service.caller("form")
    assert form.get("/v1/devices", Origin="https://other.example").status == 403
    assert form.get("/v1/quotes").status == 403
    assert (last_use(service, desk), last_use(service, form)) == (None, None)
    for caller in (desk, form):
        assert caller.get("/v1/devices").status == 200
        assert last_use(service, caller) == stamp(service.clock.now)


def test_a_key_is_used_also_while_its_use_cannot_be_kept(service: Service):
    """Reading does not wait for who writes."""
    desk = service.caller("desk")
    with closing(Store(service.store.path)) as other, other.write():
        begun = time.monotonic()
        assert desk.get("/v1/devices").status == 200
        assert time.monotonic() - begun < 5
    assert last_use(service, desk) is None
