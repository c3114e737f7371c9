"""The keys of book.toml, of a tax profile and of a law profile, each declared once."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from quoter.books import cells
from quoter.books.cells import Reader
from quoter.books.tables import REQUIRED
from quoter.engine.tax import STAGES
from quoter.law import CONCERNS, CONSENT_WAYS, LABELS
from quoter.money import ROUNDING_MODES
from quoter.quote import TAXED_KINDS

MODES = cells.one_of(*ROUNDING_MODES)


@dataclass(frozen=True, slots=True)
class Setting:
    """A dotted key of a TOML file: how its value is read, what its absence means, and what it is for.

    `takes` is how the value is written: nearly always as text, numbers too. An `is_optional` setting came to rate books
    later: where it is absent, a book says what it said before there was one.
    """

    key: str
    reads: Reader
    help: str
    absent: Any = REQUIRED
    takes: type[Any] = str
    is_optional: bool = False


BOOK_SETTINGS = (
    Setting("code", cells.address_code, "names the book"),
    Setting("title", cells.text, "what people call it"),
    Setting("currency", cells.currency, "ISO 4217 code of all amounts"),
    Setting("locale", cells.language_tag, "BCP 47 tag of the language it is shown in unless another is asked for"),
    Setting("tax_profile", cells.code, "NAME of tax/NAME.toml beside the book's folder"),
    Setting(
        "law_profile",
        cells.code,
        "NAME of law/NAME.toml beside the book's folder; blank: no law profile",
        None,
        is_optional=True,
    ),
    Setting("shop.name", cells.text, "printed on quotes"),
    Setting("shop.address", cells.text, "printed on quotes", ""),
    Setting("shop.email", cells.text, "printed on quotes", ""),
    Setting("shop.phone", cells.text, "printed on quotes", ""),
    Setting("shop.tax_number", cells.text, "printed on quotes", ""),
    Setting("shop.contact", cells.text, "another quick way to reach the shop, printed on quotes", "", is_optional=True),
    Setting("shop.handover", cells.text, "where a device is handed over; blank: at the address", "", is_optional=True),
    Setting(
        "shop.loan_device", cells.text, "whether a device is lent meanwhile, and for how much", "", is_optional=True
    ),
    Setting("shop.timezone", cells.timezone, "IANA name; decides which day it is"),
    Setting("labour.confidence", cells.number("0.5", "1", below=True), "share of jobs that quoted minutes must cover"),
    Setting(
        "labour.allowance",
        cells.number("0", "5"),
        "personal, fatigue and delay allowance on working time: 0.15 is 15 %",
    ),
    Setting("labour.increment_minutes", cells.number("0", "1440", above=True), "labour is billed in these steps"),
    Setting("labour.bench_rate", cells.MONEY, "an hour of dwell: the device occupies the bench, nobody works"),
    Setting("consumables.markup", cells.MARKUP, "on the cost of consumables: 0.25 is 25 %"),
    Setting("risk.loading", cells.MARKUP, "multiplies the expected loss of a finding"),
    Setting("policy.minimum_net", cells.MONEY, "the least that a job costs, before tax"),
    Setting("policy.express_rate", cells.MARKUP, "surcharge on labour where the customer is in a hurry: 0.25 is 25 %"),
    Setting(
        "policy.minimum_margin", cells.SHARE_BELOW_ONE, "margin below which only the owner may issue: 0.25 is 25 %"
    ),
    Setting("policy.max_discount", cells.SHARE, "discount above which only the owner may issue: 0.1 is 10 %"),
    Setting("policy.validity_days", cells.whole(0, 3650), "how long a quote holds"),
    Setting("policy.deposit_rate", cells.SHARE, "share asked for in advance: 0.3 is 30 %"),
    Setting(
        "policy.diagnosis_procedures",
        cells.codes,
        "the procedures that are a diagnosis to be paid for",
        (),
        is_optional=True,
    ),
    Setting(
        "policy.price_ending.mode",
        cells.one_of("none", "up", "down", "nearest"),
        "how consumers' prices with tax end; where tax rounding skips such a price, the closest one",
        "none",
    ),
    Setting("policy.price_ending.unit", cells.POSITIVE, "a price ends on a multiple of this …", "1"),
    Setting("policy.price_ending.minus", cells.MONEY, "… less this", "0"),
)

BAND_SETTINGS = (
    Setting("upto", cells.POSITIVE, "landed cost at which the band ends; the last band has none", None),
    Setting("rate", cells.MARKUP, "markup on the slice of landed cost inside the band: 0.6 is 60 %"),
)

BOOK_SECTIONS = (
    Setting("parts.markup", cells.filled, "[[parts.markup]] bands, ascending; the last has no upto", takes=list),
    Setting("fx", cells.untouched, "[fx] with CODE = rate", {}, Mapping),
)

FX_RATE = Setting("CODE", cells.POSITIVE, "book currency for one unit of the currency CODE that parts are bought in")

TAX_SETTINGS = (
    Setting("code", cells.code, "names the profile"),
    Setting("title", cells.text, "what people call it"),
    Setting("source", cells.text, "who says so, and when it was read"),
    Setting("display", cells.one_of("inclusive", "exclusive"), "whether consumers are shown prices with tax"),
    Setting("stage", cells.one_of(*STAGES), "what is rounded: each line, each code's sum, or each component's sum"),
    Setting("mode", MODES, "how tax is rounded"),
    Setting("combined", cells.flag, "whether a code's rates are added first and rounded as one", takes=bool),
    Setting("cash_increment", cells.POSITIVE, "what cash totals are rounded to", None),
    Setting("cash_mode", MODES, "how cash totals are rounded", "half-up"),
)

TAX_SECTIONS = (
    Setting("codes", cells.filled, "[codes.CODE] with components = [{name, rate, from}, …]", takes=Mapping),
    Setting("lines", cells.untouched, "[lines] with KIND = CODE for each kind of line", takes=Mapping),
    Setting("customers", cells.untouched, "[customers.KIND] with code and reason", {}, Mapping),
    Setting("reclass", cells.untouched, "[[reclass]] with when, above, lines and code", (), list),
)

CODE_SETTINGS = (
    Setting(
        "components", cells.untouched, "[{name, rate, from}, …], the rates that are added up; [] for none", takes=list
    ),
)

COMPONENT_SETTINGS = (
    Setting("name", cells.text, "what it is called on a quote"),
    Setting("rate", cells.SHARE, "a fraction"),
    Setting("from", cells.date, "first day on which it counts"),
)

LINE_CODE = Setting("KIND", cells.text, "the tax code of the lines of this kind")

CUSTOMER_SETTINGS = (
    Setting("code", cells.text, "the tax code of all that they buy"),
    Setting("reason", cells.text, "printed beside it", ""),
)

RECLASS_SETTINGS = (
    Setting("when", cells.one_of("any_part", "part_share"), "what the whole job must be like"),
    Setting("above", cells.SHARE, "share of the parts above which part_share counts", None),
    Setting("lines", cells.some_of(*TAXED_KINDS), "the kinds of line that change", takes=list),
    Setting("code", cells.text, "the tax code that they get"),
)

LAW_SETTINGS = (
    Setting("code", cells.code, "names the profile"),
    Setting("title", cells.text, "what people call it"),
    Setting("source", cells.text, "who says so, and when it was read"),
    Setting("reviewed", cells.text, "by whom and when; blank: not yet, and every text is printed as a template", ""),
    Setting("label", cells.one_of(*LABELS), "whether what is issued binds, or is an informed guess"),
    Setting("tax_in_price", cells.flag, "whether consumers are shown prices with tax", takes=bool),
    Setting(
        "minimum_validity_days", cells.whole(0, 3650), "how long a quote must hold at least; 0: as the shop likes", "0"
    ),
    Setting("excess.share", cells.SHARE, "of the accepted amount: how much more needs no new consent"),
    Setting("excess.of", cells.one_of("gross", "net"), "whether that amount is the one with tax or without"),
    Setting("excess.from", cells.flag, "true: consent is needed from that share on; false: only above it", takes=bool),
    Setting("consent.how", cells.some_of(*CONSENT_WAYS), "the ways in which consent may be given", takes=list),
    Setting("consent.number", cells.flag, "whether the number or address must be recorded", takes=bool),
)

LAW_SECTIONS = (Setting("notices", cells.untouched, "[notices.CODE] with what customers must be told", {}, Mapping),)

NOTICE_SETTINGS = (
    Setting("must_be_told", cells.flag, "whether a quote is issued only once the customer has been told", takes=bool),
    Setting("when", cells.one_of(*CONCERNS), "the jobs that it is about", "always"),
    Setting("texts", cells.filled, "[notices.CODE.texts] with LANGUAGE = text", takes=Mapping),
)

NOTICE_TEXT = Setting(
    "LANGUAGE", cells.text, "the notice in a language such as de or pt-BR; en or the book's must be there"
)
