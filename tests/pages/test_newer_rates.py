"""A quote at the desk whose rates have changed since: in a service of its own, since others would see the change."""

from playwright.sync_api import expect

from .conftest import Desk
from .quoting import issued
from .running import Service


def test_rates_that_count_now_may_be_chosen(desk: Desk, service: Service) -> None:
    """What was ticked stays ticked; 20 minutes at 3.00 an hour are 1.00, and at 60.00 they are 20.00."""
    shown = issued(service)
    draft = service.call("POST", "/v1/books/ballyquarn/draft", {})
    edit = {"do": "set", "table": "book.toml", "key": "labour.bench_rate", "value": "60.00"}
    edited = service.call("PATCH", "/v1/books/ballyquarn/draft", {"edits": [edit]}, If_Match=draft.headers["ETag"])
    wanted, seen = {"reason": "dearer benches", "counts_from": None}, edited.headers["ETag"]
    published = service.call("POST", "/v1/books/ballyquarn/draft/publication", wanted, If_Match=seen)
    assert published.status == 201
    page = desk(f"{shown.path}/revise")
    page.get_by_label("Bent frame").check()
    bench = page.locator("#preview").get_by_role("row").filter(has_text="Bench time")
    expect(bench).to_contain_text("€1.00–")
    page.get_by_label("which counts now").check()
    expect(page.get_by_label("Bent frame")).to_be_checked()
    expect(bench).to_contain_text("≠ changed")
    expect(bench).to_contain_text("€20.00")
    page.get_by_label("Why the quote is revised").fill("new rates")
    page.get_by_role("button", name="Issue the revision").click()
    page.wait_for_url(f"**{shown.path}")
    now = shown.fresh()
    assert now["book"]["version"] == shown.data["book"]["version"] + 1
    assert now["job"]["findings"] == ["bent-frame"]
