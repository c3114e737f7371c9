"""Which pages may read what: the Fetch standard's headers, at every operation that there is."""

import re
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import orjson
import pytest

import quoter.app  # noqa: F401 - declares every operation
from quoter.api.http.operations import OPERATIONS, WHOLE_NUMBERS, Operation
from quoter.api.http.services import services_of
from quoter.records.access import SCOPES

from .problems import problem
from .running import BATTERY, SITE, Caller, Reply, Service, a_service

OTHER = "https://other.example"
ALL = [pytest.param(declared, id=declared.id) for declared in OPERATIONS.values()]
FOR_FORMS = [declared for declared in OPERATIONS.values() if "form" in declared.scopes]
NOT_FOR_FORMS = [declared for declared in OPERATIONS.values() if "form" not in declared.scopes]


@pytest.fixture(scope="module")
def sites(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    """A service with a form's key, so that SITE is listed."""
    with a_service(tmp_path_factory.mktemp("sites")) as running:
        running.new_key("form")
        yield running


def path_of(declared: Operation) -> str:
    """A path that leads to an operation."""
    return re.sub(r"\{(\w+)\}", lambda found: "1" if found[1] in WHOLE_NUMBERS else "kessoway-5", declared.path)


def asked(service: Service, declared: Operation, key: str | None, **headers: str) -> Reply:
    """An answer of an operation."""
    content = None if declared.body is None else orjson.dumps(declared.body["example"])
    return Caller(service.app, key).send(declared.method, path_of(declared), content, **headers)


def preflight(service: Service, path: str, method: str, origin: str = SITE) -> dict[str, str]:
    """What a browser learns before it asks; its status is 204 where that is what the path answers."""
    headers = {"Origin": origin, "Access-Control-Request-Method": method}
    with service.app.test_client().open(path, method="OPTIONS", headers=headers) as response:
        assert response.get_data() == b""
        told = {name: value for name, value in response.headers if name.startswith("Access-Control-")}
        return told | {"status": str(response.status_code), "Vary": response.headers.get("Vary", "")}


def cors(reply: Reply) -> set[str]:
    """The headers of that kind."""
    return {name for name in reply.headers.keys() if name.startswith("Access-Control-")}  # noqa: SIM118 - pairs


@pytest.mark.parametrize("declared", ALL)
def test_a_preflight_allows_what_forms_may_and_nothing_else(sites: Service, declared: Operation):
    """Exactly the methods of the path that are for forms; no other operation is opened to any site."""
    told = preflight(sites, path_of(declared), declared.method)
    if "form" not in declared.scopes and not any(each.path == declared.path for each in FOR_FORMS):
        assert not any(name.startswith("Access-Control-") for name in told)
        return
    methods = sorted(each.method for each in FOR_FORMS if each.path == declared.path)
    assert told == {
        "status": "204",
        "Vary": "Origin",
        "Access-Control-Allow-Origin": SITE,
        "Access-Control-Allow-Methods": ", ".join(methods),
        "Access-Control-Allow-Headers": (
            "Authorization, Content-Type, Idempotency-Key, If-None-Match, Accept, Accept-Language"
        ),
        "Access-Control-Max-Age": "7200",
    }


@pytest.mark.parametrize("declared", ALL)
def test_all_methods_of_a_path_are_told(sites: Service, declared: Operation):
    """RFC 9110 section 10.2.1: Allow lists what the resource supports, whichever of its methods forms may use."""
    with sites.app.test_client().open(path_of(declared), method="OPTIONS") as response:
        told = set(response.headers["Allow"].split(", "))
    methods = {each.method for each in OPERATIONS.values() if each.path == declared.path}
    assert told - {"HEAD", "OPTIONS"} == methods


@pytest.mark.parametrize("declared", FOR_FORMS, ids=lambda declared: declared.id)
@pytest.mark.parametrize("origin", [OTHER, "null", "*", "", f"{SITE}/", SITE.upper(), f"{SITE} {OTHER}", "x" * 100_000])
def test_a_site_that_no_key_lists_learns_nothing(sites: Service, declared: Operation, origin: str):
    """Neither before nor when it asks: not a single header, but caches are told that it depends."""
    told = preflight(sites, path_of(declared), declared.method, origin)
    assert told == {"status": "204", "Vary": "Origin"}
    reply = asked(sites, declared, sites.new_key("form"), Origin=origin)
    assert (reply.status, cors(reply), reply.headers["Vary"]) == (403, set(), "Origin")


@pytest.mark.parametrize("scope", SCOPES)
@pytest.mark.parametrize("declared", ALL)
def test_an_answer_is_readable_where_its_key_is_the_forms_of_that_site(sites: Service, declared: Operation, scope: str):
    """Every operation with every scope; what a desk's or an owner's key gets is for no page of another site."""
    reply = asked(sites, declared, sites.new_key(scope), Origin=SITE)
    if scope == "form" and "form" in declared.scopes:
        assert reply.headers["Access-Control-Allow-Origin"] == SITE
        assert reply.headers["Access-Control-Expose-Headers"] == (
            "ETag, Link, Location, RateLimit, RateLimit-Policy, Retry-After"
        )
        assert cors(reply) == {"Access-Control-Allow-Origin", "Access-Control-Expose-Headers"}  # no credentials
    else:
        assert cors(reply) == set()
    assert ("Origin" in reply.headers.get("Vary", "")) is ("form" in declared.scopes)


@pytest.mark.parametrize("declared", FOR_FORMS, ids=lambda declared: declared.id)
def test_the_answer_depends_on_the_origin_also_where_none_is_sent(sites: Service, declared: Operation):
    """RFC 9110 section 12.5.5: a cache must not give a program's answer to a page."""
    reply = asked(sites, declared, sites.new_key("desk") if "desk" in declared.scopes else None)
    assert "Origin" in reply.headers["Vary"]
    assert cors(reply) == set()


@pytest.mark.parametrize("key", [None, "quoter_000000000000_x"])
def test_a_page_of_a_known_site_reads_that_its_key_is_wrong(sites: Service, key: str | None):
    """401; other sites do not."""
    known = asked(sites, OPERATIONS["priceJobs"], key, Origin=SITE)
    problem(known, 401, "key-required")
    assert known.headers["Access-Control-Allow-Origin"] == SITE
    assert cors(asked(sites, OPERATIONS["priceJobs"], key, Origin=OTHER)) == set()


def test_a_page_reads_what_is_wrong_with_its_job(sites: Service):
    """422."""
    reply = sites.caller("form").post("/v1/prices", BATTERY | {"device": "none"})
    problem(reply, 422, "unknown-code")
    assert reply.headers["Access-Control-Allow-Origin"] == SITE


def test_a_page_reads_that_the_service_failed(tmp_path: Path):
    """500, of a rate book that is gone while the service runs."""
    with a_service(tmp_path) as service:
        form = service.caller("form")
        with sqlite3.connect(service.store.path) as database:
            database.execute("alter table book_versions rename to gone")
        database.close()
        reply = form.post("/v1/prices", BATTERY)
        assert reply.status in (500, 503)
        assert reply.headers["Access-Control-Allow-Origin"] == SITE


def test_each_key_opens_its_own_site(service: Service):
    """A key of one site is of no use on another that has a key too."""
    one, _ = service.keyring.new("one", "form", origins=[SITE])
    service.keyring.new("other", "form", origins=[OTHER, "https://third.example"])
    for origin in (SITE, OTHER, "https://third.example"):
        assert preflight(service, "/v1/prices", "POST", origin)["Access-Control-Allow-Origin"] == origin
    refused = Caller(service.app, one, OTHER).post("/v1/prices", BATTERY)
    problem(refused, 403, "origin-not-allowed")
    assert cors(refused) == set()
    assert OTHER not in refused.text


def test_a_site_is_closed_with_its_last_key(service: Service):
    """At once: revoked, expired, tied to another."""
    for end in (
        lambda key: service.keyring.revoke(key.id),
        lambda key: service.keyring.tie(key.id, [OTHER]),
        lambda key: service.clock.forward(days=1),
    ):
        _, key = service.keyring.new("form", "form", origins=[SITE], days=1)
        assert "Access-Control-Allow-Origin" in preflight(service, "/v1/prices", "POST")
        end(key)
        assert "Access-Control-Allow-Origin" not in preflight(service, "/v1/prices", "POST")


def test_nothing_that_is_not_listed_is_looked_for(service: Service):
    """What stands in an Origin is text, not a pattern: neither a part of a list nor two of it."""
    service.keyring.new("form", "form", origins=[SITE, OTHER])
    has_site = services_of(service.app).keyring.has_site
    assert has_site(SITE)
    assert has_site(OTHER)
    for wrong in ("", " ", "https://", SITE[:-1], SITE[1:], f"{SITE} {OTHER}", "%", "https://%", "_" * len(SITE)):
        assert not has_site(wrong)
