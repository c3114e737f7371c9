"""`quoter price`: the quote of a job without a server, with the same figures."""

import json
from contextlib import closing
from pathlib import Path
from typing import Any

import orjson
import pytest

from quoter.api.prices.offline import LARGEST_FILE, read_json
from quoter.app import create_app
from quoter.config import Settings
from quoter.problems import Unreadable
from quoter.service.access.keys import Keyring
from quoter.service.clock import utc_now
from quoter.store.database import open_store
from quoter.store.keys import Keys

from .running import BALLYQUARN, BATTERY, RATES, ROOT, quoter, refused, usage_of_wrong

UNKNOWN = {"device": "kessoway-5", "repairs": [{"procedure": "polish"}]}
CASES = sorted((ROOT / "shared").glob("*/jobs.json"))


@pytest.fixture
def job_file(tmp_path: Path) -> Path:
    """A file with a job."""
    path = tmp_path / "job.json"
    path.write_text(json.dumps(BATTERY))
    return path


def price(*jobs: Any, book: Path = BALLYQUARN) -> Any:
    """What is printed for a job, or for a list of several, from standard input."""
    document = jobs[0] if len(jobs) == 1 else list(jobs)
    done = quoter("price", "--book", book, "-", given=orjson.dumps(document))
    assert (done.returncode, done.stderr) == (0, "")
    return json.loads(done.stdout)


def test_a_job_is_priced_from_a_file(job_file: Path):
    """As JSON, with everything that an owner sees."""
    done = quoter("price", "--book", BALLYQUARN, job_file)
    assert (done.returncode, done.stderr) == (0, "")
    quote = json.loads(done.stdout)
    assert quote["totals"]["gross"] == "99.95"
    assert quote["economics"]["cost"]
    assert all("because" in line for line in quote["lines"])


def test_a_list_is_answered_by_a_list_in_its_order():
    """A problem stands in the place of a job that is refused, and that is no failure."""
    first, second, third = price(BATTERY, UNKNOWN, BATTERY | {"urgency": "express"})
    assert (first["totals"]["gross"], third["job"]["urgency"]) == ("99.95", "express")
    assert (second["type"], second["errors"][0]["pointer"]) == ("/problems/unknown-code", "/repairs/0/procedure")


def test_a_single_job_that_is_refused_is_a_failure():
    """The problem is printed as the quote would be."""
    done = quoter("price", "--book", BALLYQUARN, "-", given=orjson.dumps(UNKNOWN))
    assert (done.returncode, done.stderr) == (1, "")
    assert json.loads(done.stdout)["status"] == 422


@pytest.mark.parametrize("document", [[], [[], UNKNOWN]], ids=["empty", "refused"])
def test_a_list_is_never_a_failure(document: Any):
    """Neither an empty one nor one of refused jobs."""
    done = quoter("price", "--book", BALLYQUARN, "-", given=orjson.dumps(document))
    assert (done.returncode, len(json.loads(done.stdout))) == (0, len(document))


@pytest.mark.parametrize(("locale", "gross"), [("de-DE", "99,95\xa0€"), ("ar-EG", "99.95")])
def test_the_text_is_in_the_locale_that_is_asked_for(job_file: Path, locale: str, gross: str):
    """In UTF-8, whatever the terminal's encoding is."""
    done = quoter("price", "--locale", locale, "--book", BALLYQUARN, job_file, PYTHONIOENCODING="ascii")
    assert gross in json.loads(done.stdout)["formatted"]["totals"]["gross"]


@pytest.mark.parametrize("content", [b"", b"[" * 200_000, b'{"device": "\xff"}'], ids=["empty", "deep", "latin-1"])
def test_what_is_not_json_is_refused(content: bytes):
    """In one line that names where it came from."""
    (line,) = refused(quoter("price", "--book", BALLYQUARN, "-", given=content), 1)
    assert line.startswith("-: not JSON in UTF-8: ")


@pytest.mark.parametrize("content", [b"{", b"\xef\xbb\xbf{}", b'{"rate": NaN}', b'"\\ud800"', b"{} {}"])
def test_what_is_nearly_json_is_none_either(tmp_path: Path, content: bytes):
    """From a file as from standard input."""
    path = tmp_path / "job.json"
    path.write_bytes(content)
    for source in (path, content):
        with pytest.raises(Unreadable, match=r"^job\.json: not JSON in UTF-8: "):
            read_json(source, "job.json")


def test_a_file_that_is_too_large_is_not_read(tmp_path: Path):
    """It says how large one may be."""
    path = tmp_path / "job.json"
    with path.open("wb") as file:
        file.truncate(LARGEST_FILE + 1)
    with pytest.raises(Unreadable, match="100000001 bytes are too many; 100000000 at most"):
        read_json(path, "job.json")


def test_a_file_that_is_not_there(tmp_path: Path):
    """Or that is no file."""
    (line,) = refused(quoter("price", "--book", BALLYQUARN, tmp_path / "none.json"), 1)
    assert line == f"{tmp_path / 'none.json'}: the file cannot be read: No such file or directory"
    (line,) = refused(quoter("price", "--book", BALLYQUARN, tmp_path), 1)
    assert line == f"{tmp_path}: the file cannot be read: Is a directory"


def test_a_folder_that_is_no_book(tmp_path: Path, job_file: Path):
    """Neither an empty one nor none."""
    for folder in (tmp_path, tmp_path / "none", job_file):
        first, *flaws = refused(quoter("price", "--book", folder, job_file), 1)
        assert first == f"{len(flaws)} fault{'s' * (len(flaws) != 1)}:"
        assert flaws


def test_a_flawed_book_is_never_priced_with(tmp_path: Path, job_file: Path):
    """All its flaws are told at once."""
    book = tmp_path / "rates" / "ballyquarn"
    book.mkdir(parents=True)
    for profiles in ("tax", "law"):
        (tmp_path / "rates" / profiles).symlink_to(RATES / profiles)
    for path in BALLYQUARN.iterdir():
        (book / path.name).write_text(path.read_text().replace("QK5-CEL-G,", "QK5-CEL-C,").replace('"0.8"', '"1.8"'))
    first, *flaws = refused(quoter("price", "--book", book, job_file), 1)
    assert first == f"{len(flaws)} fault{'s' * (len(flaws) != 1)}:"
    assert any("parts" in flaw and "QK5-CEL-C" in flaw for flaw in flaws)
    assert any("labour.confidence" in flaw and "1.8" in flaw for flaw in flaws)


@pytest.mark.parametrize(
    "arguments",
    [
        (),
        ("job.json",),
        ("--book", BALLYQUARN),
        ("--book", BALLYQUARN, "--locale", "en-ZZ", "job.json"),
        ("--book", BALLYQUARN, "--locale", "", "job.json"),
        ("--book", BALLYQUARN, "--colour", "job.json"),
    ],
)
def test_a_command_that_is_wrong_says_how_it_is_used(capsys: pytest.CaptureFixture[str], arguments: tuple[object, ...]):
    """And ends with 2."""
    assert usage_of_wrong(capsys, "price", *arguments)[0].startswith("usage: quoter ")


def test_every_figure_is_the_service_s(tmp_path: Path):
    """Line by line, with the texts; the service alone knows the book's version."""
    jobs = [
        BATTERY,
        BATTERY | {"findings": ["swollen-cell", "liquid"], "payment": "cash", "locale": "de-DE"},
        {"device": "tolvarn-sheet-13", "repairs": [{"procedure": "screen"}], "customer": {"kind": "business"}},
        BATTERY | {"urgency": "express", "discount": {"rate": "0.10", "reason": "came back"}, "parts": {"seal": None}},
        UNKNOWN,
    ]
    jobs = [job | {"date": "2026-03-02"} for job in jobs]  # else it may be another day when the service is asked
    printed = price(*jobs)
    with closing(open_store(tmp_path / "quoter.db")) as store:
        app = create_app(Settings(books=(BALLYQUARN,)), store=store)
        key, _ = Keyring(Keys(store), utc_now).new("owner", "owner")
        with app.test_client().post("/v1/prices", json=jobs, headers={"Authorization": f"Bearer {key}"}) as answer:
            served = answer.json
    for quote in served[:4]:
        assert quote["book"].pop("version") == 1
    for quote in printed[:4]:
        assert quote["book"].pop("version") is None
    assert printed == served


@pytest.mark.parametrize("case", CASES, ids=lambda path: path.parent.name)
def test_the_worked_cases_come_out_as_expected(case: Path):
    """Two jobs of each folder in shared/, through the whole program."""
    jobs, expected = json.loads(case.read_text()), json.loads((case.parent / "expected.json").read_text())
    chosen = [index for index, each in enumerate(expected) if "refused" not in each][:2]
    (book,) = (path.parent for path in case.parent.glob("books/*/book.toml"))
    for quote, index in zip(price(*(jobs[index] for index in chosen), book=book), chosen, strict=True):
        assert quote["totals"] == expected[index]["totals"]
        lines = [{name: line[name] for name in ("kind", "ref", "net", "tax_code")} for line in quote["lines"]]
        assert lines == expected[index]["lines"]
