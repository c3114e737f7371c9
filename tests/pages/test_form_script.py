"""The script of the form as other sites load it: small, public, cacheable, in one scope."""

import gzip
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from quoter.app import create_app
from quoter.config import Settings
from quoter.pages.form_script import KEPT_DAYS, form_words, joined_script, module, modules_in_order
from quoter.words.catalogues import LANGUAGES

from .nursery import ROOT
from .running import Service, running_service

MOST_BYTES = 30_000
"""Of the script with the words of the longest language, compressed: a page on a telephone waits for it."""

DECLARED = re.compile(r"^(?:export )?(?:async )?(?:function|class|const|let) (\w+)", re.MULTILINE)


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    """A service."""
    with running_service(tmp_path_factory.mktemp("script") / "quoter.db", ROOT / "rates/ballyquarn") as running:
        yield running


def test_script_and_words_are_small(shared: Service) -> None:
    """As they travel, in every language."""
    zipped = {"Accept-Encoding": "gzip"}
    script = len(shared.ask("GET", "/form.js", headers=zipped).body)
    words = [len(shared.ask("GET", f"/form/words/{each}.json", headers=zipped).body) for each in LANGUAGES]
    assert script + max(words) < MOST_BYTES


def test_any_site_may_load_it(shared: Service) -> None:
    """The Fetch standard, sections 3.2 and 3.7."""
    for path in ("/form.js", "/form/words/de.json"):
        answer = shared.ask("GET", path)
        assert answer.status == 200
        assert answer.headers["Access-Control-Allow-Origin"] == "*"
        assert answer.headers["Cross-Origin-Resource-Policy"] == "cross-origin"
        assert answer.headers["Cache-Control"].startswith("public")
        assert "Set-Cookie" not in answer.headers


def test_who_has_it_need_not_load_it_again(shared: Service) -> None:
    """RFC 9110, section 13.1.2; packed and plain are two representations (section 8.8.3)."""
    plain = shared.ask("GET", "/form.js").headers["ETag"]
    packed = shared.ask("GET", "/form.js", headers={"Accept-Encoding": "gzip"})
    assert packed.headers["ETag"] != plain
    assert packed.headers["Vary"] == "Accept-Encoding"
    assert shared.ask("GET", "/form.js", headers={"If-None-Match": plain}).status == 304
    again = {"Accept-Encoding": "gzip", "If-None-Match": packed.headers["ETag"]}
    assert shared.ask("GET", "/form.js", headers=again).status == 304
    assert gzip.decompress(packed.body).decode() == joined_script()


def test_there_are_words_in_the_shipped_languages_alone(shared: Service) -> None:
    """Another address is not found."""
    assert shared.ask("GET", "/form/words/xx.json").status == 404


def test_a_module_comes_after_what_it_imports() -> None:
    """All of them once, from the first to what it needs."""
    order = modules_in_order()
    assert order[-1] == "form/start.js"
    assert len(set(order)) == len(order)
    assert order.index("shared/dom.js") < order.index("form/fields.js") < order.index("form/choices.js")
    assert not re.search(r"^(import|export) ", joined_script(), re.MULTILINE)


def test_no_name_is_declared_twice() -> None:
    """The modules share one scope once they are joined."""
    names = [name for each in modules_in_order() for name in DECLARED.findall(module(each))]
    assert sorted(names) == sorted(set(names))


def test_the_script_asks_for_nothing_that_a_strict_site_forbids() -> None:
    """No text becomes a program or a page (Trusted Types), and nothing is kept in the browser."""
    forbidden = (
        r"innerHTML|outerHTML|insertAdjacentHTML|\beval\b|Function\(|document\.write|localStorage|sessionStorage|cookie"
    )
    assert re.findall(forbidden, joined_script()) == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_word_list_has_the_forms_own_sentences(language: str) -> None:
    """And of the others none: the desk's stay where they are."""
    words = form_words(language)
    assert ("{n} device found" in words["counted"]) is (language != "en")
    assert ("Stop. Do this now." in words["said"]) is (language != "en")
    assert "Issue quote" not in words["said"]


def test_for_how_long_it_is_kept_comes_with_the_words(tmp_path: Path) -> None:
    """A setting of the service, which the form tells before anything is sent."""
    app = create_app(Settings(database=tmp_path / "quoter.db", books=(ROOT / "rates/ballyquarn",)))
    app.config[KEPT_DAYS] = 42
    assert app.test_client().get("/form/words/en.json").get_json()["kept_days"] == 42
