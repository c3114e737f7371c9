"""Spreadsheets out of a draft and into it, over the API."""

import io
import re
import zipfile

import openpyxl
import pytest

from quoter.api.rates.books import XLSX, ZIP

from .owning import BOOK, DRAFT, Owner
from .running import Reply, Service, a_service

KINDS = {"xlsx": XLSX, "zip": ZIP}


@pytest.fixture
def owner(service: Service) -> Owner:
    """With a new draft."""
    owner = Owner(service)
    owner.open()
    return owner


def brought(owner: Owner, content: bytes, content_type: str, query: str = "", **headers: str) -> Reply:
    """A file sent into the draft."""
    given = {"If_Match": owner.tag, "Content_Type": content_type, **headers}
    return owner.seen(owner.caller.send("PUT", f"{DRAFT}/content{query}", content, **given))


def with_cell(content: bytes, place: str, value: object) -> bytes:
    """The workbook with one cell of the parts changed."""
    book, out = openpyxl.load_workbook(io.BytesIO(content)), io.BytesIO()
    book["parts"][place] = value
    book.save(out)
    return out.getvalue()


@pytest.mark.parametrize("kind", KINDS)
def test_what_goes_out_comes_in_and_changes_nothing(owner: Owner, kind: str):
    """Of the draft as of the version; the file says what it is."""
    for path in (f"{DRAFT}/export", f"{BOOK}/versions/1/export"):
        file = owner.caller.get(f"{path}?format={kind}")
        assert (file.status, file.headers["Content-Type"]) == (200, KINDS[kind])
        assert re.fullmatch(rf'attachment; filename="[\w.-]+\.{kind}"', file.headers["Content-Disposition"])
        done = brought(owner, file.content, KINDS[kind], "?dry_run=no")
        assert (done.status, done.body["done"], done.body["differences"], done.body["flaws"]) == (200, True, [], [])
    assert owner.look().body["revision"] == 1


def test_a_dry_run_changes_nothing_and_the_run_changes_and_records(owner: Owner):
    """Both list the same difference."""
    content = with_cell(owner.caller.get(f"{DRAFT}/export").content, "F2", 21.75)
    dry = brought(owner, content, XLSX)
    assert (dry.body["done"], dry.body["counts"]["changed"], dry.body["draft"]["revision"]) == (False, 1, 1)
    assert owner.caller.get(f"{DRAFT}/changes").body["changes"] == []
    done = brought(owner, content, XLSX, "?dry_run=no")
    assert (done.body["done"], done.body["differences"]) == (True, dry.body["differences"])
    (change,) = owner.caller.get(f"{DRAFT}/changes").body["changes"]
    recorded = [change[name] for name in ("table", "key", "column", "old", "new", "by", "revision")]
    assert recorded == ["parts", "QK4-CEL-G", "cost", "20.50", "21.75", "owner key", 2]
    assert owner.rows("parts")[0]["cells"]["cost"] == "21.75"


@pytest.mark.parametrize(
    ("place", "value", "said"), [("F3", "=1+1", "formula"), ("F4", True, ""), ("F5", "twelve", "")]
)
def test_a_wrong_cell_is_named_by_its_place(owner: Owner, place: str, value: object, said: str):
    """As a spreadsheet calls it, or by table, row and column."""
    content = with_cell(owner.caller.get(f"{DRAFT}/export").content, place, value)
    refused = brought(owner, content, XLSX)
    assert refused.status in (200, 400, 422)
    told = refused.text
    assert f"parts!{place}" in told or re.search(rf'"row":{place[1:]}\b', told), told
    assert said in told
    assert owner.look().body["revision"] == 1


def zipped(**files: str) -> bytes:
    """A zip of these."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, text in files.items():
            archive.writestr(name.replace("__", "/").replace("_csv", ".csv"), text)
    return out.getvalue()


@pytest.mark.parametrize(
    ("content", "content_type"),
    [
        (b"", XLSX),
        (b"", ZIP),
        (b"PK\x03\x04", XLSX),
        (b"PK\x03\x04", ZIP),
        (b"{}", XLSX),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, XLSX),
        (zipped(), ZIP),
        (zipped(parts_csv="sku\n"), XLSX),
        (zipped(parts_csv="sku\nA\nA\n"), ZIP),
        (zipped(**{"..__..__etc__passwd": "x"}), ZIP),
    ],
)
def test_a_broken_or_hostile_file_changes_nothing(owner: Owner, content: bytes, content_type: str):
    """It is a problem, or faults are listed; never a fault of the service."""
    refused = brought(owner, content, content_type, "?dry_run=no")
    assert refused.status in (200, 400, 422)
    if refused.status == 200:
        assert (refused.body["done"], bool(refused.body["flaws"])) == (False, True)
    assert owner.look().body["revision"] == 1


@pytest.mark.parametrize("query", ["", "?dry_run=no"])
@pytest.mark.parametrize("kind", KINDS)
def test_what_is_no_file_of_its_kind_is_a_problem(owner: Owner, kind: str, query: str):
    """It is not a book that has lost every row, whether it is only looked at or not."""
    refused = brought(owner, b"nope", KINDS[kind], query)
    assert (refused.status, refused.body["type"]) == (400, "/problems/unreadable")
    assert refused.body["detail"].startswith("the file: this is not a zip file (a ")
    assert owner.look().body["revision"] == 1


def test_a_file_of_another_type_is_415(owner: Owner):
    """What would be right is said."""
    for content_type in ("text/csv", "application/json", "application/vnd.ms-excel", ""):
        refused = brought(owner, b"x", content_type)
        assert (refused.status, refused.body["type"]) == (415, "/problems/wrong-content-type")
        assert XLSX in refused.body["detail"]


def test_a_file_without_a_tag_or_with_an_old_one_is_refused(owner: Owner):
    """Nothing of somebody else's is overwritten."""
    content, old = owner.caller.get(f"{DRAFT}/export?format=zip").content, owner.tag
    owner.rate("9.00")
    assert owner.caller.send("PUT", f"{DRAFT}/content", content, Content_Type=ZIP).status == 428
    assert brought(owner, content, ZIP, "?dry_run=no", If_Match=old).status == 412


def test_a_file_may_be_larger_than_other_bodies_but_not_endless(owner: Owner):
    """2 MB for other bodies, 32 MB for these: what is over either is a problem document."""
    assert owner.edit({"do": "set", "table": "tax", "key": "title", "value": "x" * 2_000_100}).status == 413
    assert brought(owner, b"x" * 3_000_000, XLSX).status == 400
    refused = brought(owner, b"x" * 32_000_001, ZIP)
    assert (refused.status, refused.headers["Content-Type"]) == (413, "application/problem+json")


def test_the_faults_of_a_file_that_is_not_brought_in_have_no_row_of_the_draft(owner: Owner):
    """Their rows are the file's; in the draft other rows stand there."""
    content = with_cell(owner.caller.get(f"{DRAFT}/export").content, "F5", "twelve")
    assert {flaw["row_id"] for flaw in brought(owner, content, XLSX).body["flaws"]} == {None}


def test_a_stranger_uploads_nothing(service: Service):
    """Refused before a byte of it is read."""
    for scope, status in (("desk", 403), (None, 401)):
        caller = service.caller(scope)
        assert caller.send("PUT", f"{DRAFT}/content", b"x" * 3_000_000, Content_Type=XLSX).status == status


def test_a_workbook_of_thousands_of_parts_is_taken(tmp_path, owner: Owner):
    """5,000 more than the demo has, in one go."""
    rows = "\n".join(f"X{n},Battery,battery,genuine,kessoway-4,{n}.50,,0,0,,part-365,0.01," for n in range(5000))
    source = zipfile.ZipFile(io.BytesIO(owner.caller.get(f"{DRAFT}/export?format=zip").content))
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name in source.namelist():
            content = source.read(name)
            archive.writestr(name, content + rows.encode() if name.endswith("parts.csv") else content)
    done = brought(owner, out.getvalue(), ZIP, "?dry_run=no")
    assert (done.status, done.body["done"], done.body["counts"]["added"]) == (200, True, 5000)


def test_the_limit_of_other_bodies_is_not_lowered_below_a_wish(tmp_path):
    """A service is set up with its own."""
    with a_service(tmp_path) as service:
        assert service.app.config["MAX_CONTENT_LENGTH"] == 2_000_000
