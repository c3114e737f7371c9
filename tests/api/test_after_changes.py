"""A quote that has been issued never changes, whatever becomes of the rate book."""

import shutil
from pathlib import Path

import pytest

from quoter.api.http.services import services_of
from quoter.books.load import read_folder

from .running import BATTERY, RATES, a_service
from .test_quotes import issued


@pytest.fixture
def rates(tmp_path: Path) -> Path:
    """A folder with the demo books."""
    return shutil.copytree(RATES, tmp_path / "rates")


def test_a_quote_outlives_a_change_of_its_book(tmp_path: Path, rates: Path):
    """Text for text, with the old version's number; a new quote has the new version's."""
    book = rates / "ballyquarn"
    with a_service(tmp_path, book) as service:
        old = service.caller("owner").post("/v1/quotes", BATTERY)
    settings = book / "book.toml"
    settings.write_text(settings.read_text().replace("Otterquay Device Repair", "Somebody Else"))
    parts = book / "parts.csv"
    parts.write_text(parts.read_text().replace("kessoway-5,24.90", "kessoway-5,240.90"))
    menu = book / "menu.csv"
    menu.write_text(menu.read_text().replace("kessoway-5,battery,genuine,88.06\n", ""))
    with a_service(tmp_path, book) as service:
        owner = service.caller("owner")
        assert owner.get(old.headers["Location"]).text == old.text
        assert issued(owner)["book"]["version"] == 1
        services_of(service.app).rates.publish_text(read_folder(book), "dearer cells", None, "the owner")
        new = issued(owner)
    assert (old.body["book"]["version"], new["book"]["version"]) == (1, 2)
    assert float(new["totals"]["gross"]) > float(old.body["totals"]["gross"]) + 200


def test_a_quote_outlives_its_book(tmp_path: Path, rates: Path):
    """It is shown from what was kept: device, words, zone and all."""
    with a_service(tmp_path, rates / "peddrick-mills") as service:
        old = service.caller("owner").post("/v1/quotes", BATTERY)
    shutil.rmtree(rates / "peddrick-mills")
    with a_service(tmp_path, rates / "ballyquarn") as service:
        owner = service.caller("owner")
        assert owner.get(old.headers["Location"]).text == old.text
        assert owner.get("/v1/quotes?book=peddrick-mills").body["quotes"][0]["title"] == "Quellimar Kessoway 5"
