"""`quoter price-list`: what the service would answer, without it."""

import csv
import io
import shutil
import subprocess
from pathlib import Path

import pytest

from quoter.app import create_app
from quoter.cli.price_list import FORMATS
from quoter.config import Settings
from quoter.documents.price_list import WRITERS
from quoter.service.access.keys import Keyring
from quoter.service.clock import utc_now
from quoter.store.database import open_store
from quoter.store.keys import Keys

from .running import BALLYQUARN, RATES, command, environment, quoter, refused, usage_of_wrong


def printed(*arguments: object) -> bytes:
    """The bytes that come out."""
    done = subprocess.run(command("price-list", *arguments), capture_output=True, env=environment(), timeout=60)
    assert (done.returncode, done.stderr) == (0, b"")
    return done.stdout


@pytest.mark.parametrize(
    ("book", "locale", "name"),
    [
        ("ballyquarn", "", "json"),
        ("ballyquarn", "ar", "csv"),
        ("ballyquarn", "de", "csv-bom"),
        ("peddrick-mills", "de-de", "jsonld"),
    ],
)
def test_the_bytes_are_those_of_the_service(tmp_path: Path, book: str, locale: str, name: str):
    """Of the same book on the same day."""
    chosen = ("--book", RATES / book, "--format", name, *(["--locale", locale] if locale else []))
    asked = f"&locale={locale}" if locale else ""
    found = printed(*chosen)
    store = open_store(tmp_path / "quoter.db")
    try:
        app = create_app(Settings(books=(RATES / book,)), store=store)
        key, _ = Keyring(Keys(store), utc_now).new("owner", "owner")
        with app.test_client().get(
            f"/v1/price-list?format={name}{asked}", headers={"Authorization": f"Bearer {key}"}
        ) as reply:
            assert reply.status_code == 200
            content = reply.get_data()
    finally:
        store.close()
    if found != content:
        found = printed(*chosen)  # it may have been yesterday's
    assert found == content


def test_every_format_of_the_service_can_be_printed():
    """By the same names."""
    assert set(FORMATS) == set(WRITERS)


def test_a_spreadsheet_can_have_it():
    """A header and a line an entry."""
    rows = list(csv.DictReader(io.StringIO(printed("--book", BALLYQUARN, "--format", "csv").decode(), newline="")))
    assert len(rows) == 135
    assert {row["currency"] for row in rows} == {"EUR"}


def test_excel_is_told_that_it_is_utf8():
    """By the mark alone; the rest is the same, byte for byte."""
    plain, marked = (printed("--book", BALLYQUARN, "--format", name) for name in ("csv", "csv-bom"))
    assert marked == "\ufeff".encode() + plain


def test_a_book_with_faults_has_no_list(tmp_path: Path):
    """They are said instead."""
    rates = shutil.copytree(RATES, tmp_path / "rates")
    (rates / "ballyquarn" / "parts.csv").write_text("sku\n")
    assert "fault" in refused(quoter("price-list", "--book", rates / "ballyquarn"), 1)[0]


def test_a_format_that_there_is_not_is_a_wrong_command(capsys: pytest.CaptureFixture[str]):
    """With those that there are."""
    assert "jsonld" in usage_of_wrong(capsys, "price-list", "--book", BALLYQUARN, "--format", "xml")[-1]
