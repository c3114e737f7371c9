"""Announcements on their way: in order, again and again, to the end, each under its own id."""

import datetime as dt
import email.utils
import json
import threading
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from standardwebhooks.webhooks import Webhook as Reference
from standardwebhooks.webhooks import WebhookVerificationError

from quoter.api.webhooks.webhook_document import health
from quoter.background.deliveries import GONE, KEPT_DEAD, KEPT_DELIVERED, LEASE
from quoter.problems import Conflict
from quoter.records.quotes import Contact, Decision
from quoter.service.webhooks.announcing import MOST_AT_ONCE
from quoter.service.webhooks.retries import LONGEST_WAIT_SECONDS, MOST_ATTEMPTS, PAUSES_SECONDS

from .receivers import Receiver, hanging, receiving, status, thoughtful
from .telling import Shop, a_shop

FAILS, ARRIVES = status(503), status(204)


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    """A shop whose webhooks may lead to this machine."""
    with a_shop(tmp_path) as opened:
        yield opened


def verified(secret: str, receiver: Receiver, number: int = -1) -> dict:
    """What came in, as the reference implementation of Standard Webhooks takes it. Raises where it does not."""
    got = receiver.got[number]
    found: dict = Reference(secret).verify(got.body, got.headers)
    return found


def test_what_arrives_is_genuine_to_the_reference(shop: Shop):
    """One announcement, one POST, and nothing more is due."""
    with receiving() as receiver:
        hook = shop.webhook(receiver.address)
        quote = shop.quote()
        assert shop.delivered() == 1
        told = verified(hook.secret, receiver)
    assert (told["type"], told["data"]["number"]) == ("quote.issued", quote.number)
    assert receiver.got[0].headers["content-type"] == "application/json"
    assert receiver.got[0].headers["host"] == f"127.0.0.1:{receiver.port}"
    delivery = shop.only(hook)
    assert (delivery.state, delivery.attempts, delivery.last_status) == ("delivered", 1, 204)


def test_a_body_that_was_touched_is_not_genuine(shop: Shop):
    """To the reference; so what it lets pass above means something."""
    with receiving() as receiver:
        hook = shop.webhook(receiver.address)
        shop.quote()
        shop.delivered()
    got = receiver.got[0]
    with pytest.raises(WebhookVerificationError):
        Reference(hook.secret).verify(got.body.replace(b"issued", b"voided"), got.headers)


def test_every_attempt_has_the_same_id_and_body_and_a_time_of_its_own(shop: Shop):
    """It fails twice and then arrives, after the pauses that are listed and not before."""
    with receiving(FAILS, FAILS, ARRIVES) as receiver:
        hook = shop.webhook(receiver.address)
        shop.quote()
        assert shop.delivered() == 1
        for pause in PAUSES_SECONDS[:2]:
            shop.forward(seconds=pause, microseconds=-1)
            assert shop.delivered() == 0
            shop.forward(microseconds=1)
            assert shop.delivered() == 1
        assert [shop.only(hook).state, shop.only(hook).attempts] == ["delivered", 3]
        verified(hook.secret, receiver)
    assert len(receiver.got) == 3
    assert len(set(receiver.ids)) == 1
    assert len({each.body for each in receiver.got}) == 1
    times = [int(each.headers["webhook-timestamp"]) for each in receiver.got]
    assert [times[1] - times[0], times[2] - times[1]] == pytest.approx(PAUSES_SECONDS[:2], abs=1)
    assert len({each.headers["webhook-signature"] for each in receiver.got}) == 3


def test_what_never_arrives_is_dead_in_about_two_days_and_can_be_sent_again(shop: Shop):
    """Under the same id, and with all its attempts before it."""
    with receiving(*[FAILS] * MOST_ATTEMPTS, ARRIVES) as receiver:
        hook = shop.webhook(receiver.address)
        shop.quote()
        began = shop.now
        while shop.only(hook).state == "waiting":
            assert shop.delivered() == 1
            if shop.only(hook).state == "waiting":
                shop.now = dt.datetime.fromisoformat(shop.only(hook).next_at)
        assert dt.timedelta(days=1.8) < shop.now - began < dt.timedelta(days=2)
        dead = shop.only(hook)
        assert (dead.attempts, dead.last_status, dead.last_detail) == (MOST_ATTEMPTS, 503, "it answered 503")
        shop.forward(days=3)
        assert shop.delivered() == 0
        assert shop.use.webhooks.send_again(dead.place).state == "waiting"
        assert shop.delivered() == 1
    assert (shop.only(hook).state, shop.only(hook).attempts) == ("delivered", 1)
    assert len(receiver.got) == MOST_ATTEMPTS + 1
    assert len(set(receiver.ids)) == 1


def test_what_breaks_in_a_way_that_nobody_thought_of_is_an_attempt_too(tmp_path: Path):
    """Else the same delivery would go out for ever, with nobody told."""
    names = {"up": True}

    def resolve(name: str, port: int) -> list[str]:
        if not names["up"]:
            raise RuntimeError("the resolver is broken")
        return ["127.0.0.1"]

    with a_shop(tmp_path, resolve=resolve) as shop:
        hook = shop.webhook("http://receiver.example:9/")
        shop.trial(hook)
        names["up"] = False
        assert shop.deliverer.deliver_next()
        found = shop.only(hook)
        assert (found.state, found.attempts, found.last_status) == ("waiting", 1, None)
        assert "it broke while it was sent" in found.last_detail
        wait = dt.datetime.fromisoformat(found.next_at) - shop.now
        assert wait.total_seconds() == pytest.approx(PAUSES_SECONDS[0])


def test_all_dead_ones_are_sent_again_in_their_order(shop: Shop):
    """And how many there are is said."""
    with receiving(*[FAILS] * MOST_ATTEMPTS * 2, ARRIVES) as receiver:
        hook = shop.webhook(receiver.address)
        quote = shop.quote()
        shop.revised(quote)
        while shop.deliveries(hook, "waiting"):
            shop.delivered()
            shop.forward(days=1)
        assert len(shop.deliveries(hook, "dead")) == 2
        assert shop.use.webhooks.send_dead_again(hook) == 2
        assert shop.delivered() == 2
    kinds = [json.loads(each.body)["type"] for each in receiver.got]
    assert kinds == ["quote.issued"] * MOST_ATTEMPTS + ["quote.revised"] * MOST_ATTEMPTS + [
        "quote.issued",
        "quote.revised",
    ]


def test_one_that_has_arrived_can_be_sent_again(shop: Shop):
    """For a receiver that has lost it."""
    with receiving() as receiver:
        hook = shop.webhook(receiver.address)
        shop.quote()
        shop.delivered()
        shop.use.webhooks.send_again(shop.only(hook).place)
        assert shop.delivered() == 1
    assert len(set(receiver.ids)) == 1
    assert len(receiver.got) == 2


def test_what_is_about_one_quote_arrives_in_order_and_others_are_not_held_up(shop: Shop):
    """While the first announcement of a quote fails, its second waits, and another quote's arrives."""
    with receiving(FAILS, ARRIVES) as receiver:
        hook = shop.webhook(receiver.address)
        first = shop.quote()
        shop.revised(first)
        other = shop.quote()
        assert shop.delivered() == 2
        assert [each.state for each in shop.deliveries(hook)] == ["waiting", "waiting", "delivered"]
        shop.forward(seconds=PAUSES_SECONDS[0])
        assert shop.delivered() == 2
    told = [json.loads(each.body) for each in receiver.got]
    assert [(each["data"]["quote"], each["type"]) for each in told] == [
        (first.id, "quote.issued"),
        (other.id, "quote.issued"),
        (first.id, "quote.issued"),
        (first.id, "quote.revised"),
    ]


def test_410_pauses_the_webhook_until_somebody_resumes_it(shop: Shop):
    """410 Gone (RFC 9110, section 15.5.11): nothing more is sent, and nothing is lost."""
    with receiving(status(410), ARRIVES) as receiver:
        hook = shop.webhook(receiver.address)
        shop.quote()
        shop.quote()
        assert shop.delivered() == 1
        paused = shop.use.webhooks.get(hook.id)
        assert (paused.paused_because, paused.version) == (GONE, hook.version + 1)
        shop.forward(days=9)
        shop.quote()
        assert shop.delivered() == 0
        with pytest.raises(Conflict):
            shop.trial(paused)
        shop.use.webhooks.change(paused, paused=False)
        assert shop.delivered() == 3
    assert {each.state for each in shop.deliveries(hook)} == {"delivered"}


@pytest.mark.parametrize(
    ("asked", "waited"),
    [
        ("120", 120),
        ("1", PAUSES_SECONDS[0]),
        ("999999999999", LONGEST_WAIT_SECONDS),
        ("soon", PAUSES_SECONDS[0]),
        ("-5", PAUSES_SECONDS[0]),
        ("²", PAUSES_SECONDS[0]),
        ("", PAUSES_SECONDS[0]),
    ],
)
def test_a_receiver_may_ask_for_a_longer_pause(shop: Shop, asked: str, waited: int):
    """Retry-After in seconds (RFC 9110, section 10.2.3), up to a day; anything else changes nothing."""
    with receiving(status(429, Retry_After=asked.encode().decode("latin-1"))) as receiver:
        hook = shop.webhook(receiver.address)
        shop.trial(hook)
        shop.delivered()
    next_at = dt.datetime.fromisoformat(shop.only(hook).next_at)
    assert (next_at - shop.now).total_seconds() == waited


def test_a_receiver_may_name_the_moment_of_the_next_attempt(shop: Shop):
    """Retry-After as a date."""
    moment = shop.now.replace(microsecond=0) + dt.timedelta(minutes=10)
    with receiving(status(503, Retry_After=email.utils.format_datetime(moment, usegmt=True))) as receiver:
        hook = shop.webhook(receiver.address)
        shop.trial(hook)
        shop.delivered()
    assert abs(dt.datetime.fromisoformat(shop.only(hook).next_at) - moment) <= dt.timedelta(seconds=1)


def test_both_secrets_count_until_the_overlap_is_over(shop: Shop):
    """By the clock that is handed in; the new one alone counts from the very moment on."""
    with receiving() as receiver:
        hook = shop.webhook(receiver.address)
        rotated = shop.use.webhooks.rotate(hook, dt.timedelta(hours=24))
        shop.trial(rotated)
        shop.delivered()
        for secret in (hook.secret, rotated.secret):
            assert verified(secret, receiver)["type"] == "webhook.trial"
        shop.forward(hours=24)
        shop.trial(rotated)
        shop.delivered()
    old, new = (Reference(each) for each in (hook.secret, rotated.secret))
    got = receiver.got[-1]
    at = dt.datetime.fromtimestamp(int(got.headers["webhook-timestamp"]), dt.UTC)
    assert got.headers["webhook-signature"] == new.sign(got.id, at, got.body.decode())
    assert old.sign(got.id, at, got.body.decode()) not in got.headers["webhook-signature"].split()


def test_an_overlap_of_nothing_ends_the_old_secret_at_once(shop: Shop):
    """After a leak."""
    with receiving() as receiver:
        hook = shop.webhook(receiver.address)
        rotated = shop.use.webhooks.rotate(hook, dt.timedelta(0))
        shop.trial(rotated)
        shop.delivered()
    assert verified(rotated.secret, receiver)
    with pytest.raises(WebhookVerificationError):
        verified(hook.secret, receiver)


def test_nothing_about_the_customer_is_announced(shop: Shop):
    """Whatever happens to a quote: not their name, number or address, nor what the shop earns."""
    tell_tale = Contact(name="Zebedee Telltale", phone="+353 1 555 0199", email="telltale@example.org")
    with receiving() as receiver:
        shop.webhook(receiver.address)
        quote = shop.quote(tell_tale)
        decision = Decision(decision="declined", revision=1, name="Zebedee Telltale", note="telltale note", how="phone")
        declined = shop.use.quoting.decide(quote, decision, "the desk of Telltale")
        shop.revised(declined)
        shop.forward(days=400)
        assert shop.deliverer.look_at_the_clock() is None
        shop.delivered()
    assert [json.loads(each.body)["type"] for each in receiver.got] == [
        "quote.issued",
        "quote.decided",
        "quote.revised",
        "quote.expired",
    ]
    sent = b"".join(each.body for each in receiver.got).decode().casefold()
    for secret in ("telltale", "zebedee", "0199", "margin", "cost", "floor", "in a hurry", quote.link.casefold()):
        assert secret not in sent


def _undone(shop: Shop) -> None:
    with shop.use.together():
        shop.use.announcing.tell("enquiry.received", "/v1/enquiries/y", {})
        raise RuntimeError


def test_an_enquiry_is_announced_with_its_path(shop: Shop):
    """Whoever keeps something tells of it within its own transaction; what is undone was never announced."""
    with receiving() as receiver:
        hook = shop.webhook(receiver.address)
        with shop.use.together():
            shop.use.enquiring.announce("enquiry.received", "/v1/enquiries/x", {"reference": "A2026-00001"})
        with pytest.raises(RuntimeError):
            _undone(shop)
        assert shop.delivered() == 1
    assert shop.only(hook).about == "/v1/enquiries/x"
    told = json.loads(receiver.got[0].body)
    assert (told["about"], told["data"]) == ("/v1/enquiries/x", {"reference": "A2026-00001"})


def test_a_quote_that_expires_is_announced_once_for_each_revision(shop: Shop):
    """At the moment at which it ended, however late it is noticed; never where something was decided."""
    with receiving() as receiver:
        hook = shop.webhook(receiver.address, ("quote.expired",))
        quote, decided = shop.quote(), shop.quote()
        shop.use.quoting.decide(decided, Decision(decision="accepted", revision=1, name="A", how="phone"), "desk")
        shop.now = dt.datetime.fromisoformat(quote.expires_at) - dt.timedelta(microseconds=1)
        shop.deliverer.look_at_the_clock()
        assert shop.deliveries(hook) == []
        shop.forward(microseconds=1)
        for _ in range(2):
            shop.deliverer.look_at_the_clock()
        revised = shop.revised(quote)
        shop.deliverer.look_at_the_clock()
        shop.forward(days=400)
        shop.deliverer.look_at_the_clock()
        shop.delivered()
    told = [json.loads(each.body) for each in receiver.got]
    assert [(each["data"]["revision"], each["timestamp"]) for each in told] == [
        (1, quote.expires_at),
        (2, revised.expires_at),
    ]
    assert {each["data"]["quote"] for each in told} == {quote.id}


def test_a_quote_that_is_revised_before_anybody_looked_had_expired_first(shop: Shop):
    """Also where the service was off on its last day."""
    with receiving() as receiver:
        shop.webhook(receiver.address, ("quote.expired", "quote.revised"))
        quote = shop.quote()
        shop.now = dt.datetime.fromisoformat(quote.expires_at) + dt.timedelta(days=2)
        shop.revised(quote)
        shop.delivered()
    assert [json.loads(each.body)["type"] for each in receiver.got] == ["quote.expired", "quote.revised"]


def test_quotes_that_expired_before_a_webhook_was_there_are_not_announced(shop: Shop):
    """Nobody wants to be told a year of old ones."""
    shop.quote()
    shop.forward(days=400)
    with receiving() as receiver:
        hook = shop.webhook(receiver.address)
        shop.deliverer.look_at_the_clock()
    assert shop.deliveries(hook) == []


def test_several_that_look_at_the_clock_announce_once(shop: Shop):
    """Four threads with connections of their own, as four processes have, and more quotes than are taken at once."""
    with receiving() as receiver:
        hook = shop.webhook(receiver.address, ("quote.expired",))
        count = MOST_AT_ONCE + 5
        quotes = {shop.quote().id for _ in range(count)}
        shop.forward(days=400)
        threads = [threading.Thread(target=shop.another().look_at_the_clock) for _ in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    assert Counter(each.about for each in shop.deliveries(hook)) == Counter(f"/v1/quotes/{each}" for each in quotes)


def test_several_processes_send_nothing_at_the_same_time(tmp_path: Path):
    """Three that deliver from one database: each announcement arrives once, one at a time."""
    with a_shop(tmp_path) as shop, receiving(thoughtful(0.01)) as receiver:
        hook = shop.webhook(receiver.address)
        wanted = [shop.trial(hook).announcement for _ in range(30)]
        others = [Shop(tmp_path / "quoter.db") for _ in range(2)]
        for each in (shop, *others):
            each.now = shop.now
        with shop.deliverer.at_work(), others[0].deliverer.at_work(), others[1].deliverer.at_work():
            receiver.wait_for(30)
        for other in others:
            other.store.close()
    assert receiver.ids == wanted
    assert receiver.most_at_a_time == 1


def test_one_that_hangs_holds_no_other_up(shop: Shop):
    """Nine hang; what is for the tenth arrives in the meantime."""
    with receiving(hanging(120)) as stuck, receiving() as quick:
        for number in range(9):
            shop.trial(shop.webhook(f"{stuck.address}/{number}"))
        hook = shop.webhook(quick.address)
        for _ in range(5):
            shop.trial(hook)
        with shop.another(seconds_to_connect=60.0, seconds_in_all=120.0).at_work():
            quick.wait_for(5, seconds=40)
            stuck.wait_for(9, seconds=40)  # they have been handed out before, and need not have been sent by then
            assert len(stuck.got) == 9


def test_what_a_process_was_sending_when_it_died_is_sent_again(shop: Shop):
    """After its lease, both sides of it, by another; what the dead one has to say then counts no more."""
    with receiving() as receiver:
        hook = shop.webhook(receiver.address)
        shop.trial(hook)
        lost = shop.deliverer.claim()
        assert lost is not None
        shop.forward(seconds=LEASE.total_seconds(), microseconds=-1)
        assert shop.delivered() == 0
        shop.forward(microseconds=1)
        assert shop.delivered() == 1
        shop.deliverer.deliver(lost)
    assert (shop.only(hook).attempts, shop.only(hook).state) == (1, "delivered")


def test_a_stop_waits_a_moment_for_what_is_under_way(shop: Shop):
    """And not for one that hangs: that is attempted again after the lease."""
    with receiving(hanging(120)) as receiver:
        hook = shop.webhook(receiver.address)
        shop.trial(hook)
        with shop.another(seconds_in_all=120.0).at_work():
            receiver.wait_for(1)
            began = time.monotonic()
        assert time.monotonic() - began < 60
    assert (shop.only(hook).state, shop.only(hook).attempts) == ("waiting", 0)


def test_a_webhook_that_is_ended_while_it_is_told_stays_ended(shop: Shop):
    """What comes back afterwards changes nothing."""
    with receiving() as receiver:
        hook = shop.webhook(receiver.address)
        shop.trial(hook)
        claim = shop.deliverer.claim()
        assert claim is not None
        shop.use.webhooks.end(hook)
        shop.deliverer.deliver(claim)
    assert shop.only(hook).state == "dead"


def test_what_is_known_of_a_webhook_follows_its_attempts(shop: Shop):
    """Given up: failing. Another arrives: incomplete, also a month later. All sent again and arrived: healthy."""
    with receiving(*[FAILS] * MOST_ATTEMPTS, ARRIVES) as receiver:
        hook = shop.webhook(receiver.address)

        def state() -> str:
            return health(hook, shop.use.webhooks.progress(hook))

        shop.trial(hook)
        assert state() == "healthy"
        for _ in range(MOST_ATTEMPTS):
            shop.delivered()
            assert state() == "failing"
            shop.forward(days=1)
        assert shop.only(hook).state == "dead"
        shop.trial(hook)
        shop.delivered()
        assert state() == "incomplete"
        shop.now += KEPT_DELIVERED + dt.timedelta(days=1)
        shop.deliverer.tidy()
        assert state() == "incomplete"
        shop.use.webhooks.send_dead_again(hook)
        shop.delivered()
        assert state() == "healthy"


def test_what_was_settled_long_ago_is_forgotten(shop: Shop):
    """What arrived after a month, what is dead after half a year, what waits never."""
    with receiving(ARRIVES, *[FAILS] * 20) as receiver:
        hook = shop.webhook(receiver.address)
        shop.trial(hook)
        assert shop.delivered() == 1
        shop.trial(hook)
        for _ in range(MOST_ATTEMPTS):
            shop.delivered()
            shop.forward(days=1)
        shop.trial(hook)
        shop.deliverer.tidy()
        assert [each.state for each in shop.deliveries(hook)] == ["delivered", "dead", "waiting"]
        shop.now += KEPT_DELIVERED
        shop.deliverer.tidy()
        assert [each.state for each in shop.deliveries(hook)] == ["dead", "waiting"]
        shop.now += KEPT_DEAD
        shop.deliverer.tidy()
    assert [each.state for each in shop.deliveries(hook)] == ["waiting"]
    assert len(shop.store.rows("select id from announcements")) == 1


def test_no_secret_is_logged(shop: Shop, caplog: pytest.LogCaptureFixture):
    """Neither where all goes well nor where it does not."""
    caplog.set_level(0)
    with receiving(FAILS, status(302), ARRIVES) as receiver:
        hook = shop.use.webhooks.rotate(shop.webhook(receiver.address), dt.timedelta(hours=1))
        shop.trial(hook)
        for pause in PAUSES_SECONDS[:3]:
            shop.delivered()
            shop.forward(seconds=pause)
    assert len(receiver.got) == 3
    for secret in (hook.secret, hook.old_secret):
        assert str(secret).removeprefix("whsec_") not in caplog.text


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(
    outcomes=st.lists(st.sampled_from([204, 500, 404, 302]), max_size=12),
    abouts=st.lists(st.sampled_from(["/v1/quotes/a", "/v1/quotes/b", "/v1/quotes/c"]), min_size=1, max_size=8),
)
def test_whatever_fails_each_thing_is_told_in_order(shop: Shop, outcomes: list[int], abouts: list[str]):
    """No announcement comes in, not even to fail, before all earlier ones about the same thing have arrived."""
    with receiving(*map(status, outcomes), ARRIVES) as receiver:
        hook = shop.webhook(receiver.address)
        for number, about in enumerate(abouts):
            shop.use.announcing.tell("quote.revised", about, {"number": number, "about": about})
        while shop.deliveries(hook, "waiting"):
            shop.delivered()
            shop.forward(hours=25)
        shop.use.webhooks.end(shop.use.webhooks.get(hook.id))
    told = [json.loads(each.body)["data"] for each in receiver.got]
    assert {each["number"] for each in told} == set(range(len(abouts)))
    for about in abouts:
        numbers = [each["number"] for each in told if each["about"] == about]
        assert numbers == sorted(numbers)
