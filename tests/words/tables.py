"""What the tests of this folder go through: locales, currencies, amounts, units, days."""

from datetime import UTC, date, datetime
from decimal import ROUND_HALF_UP, Decimal

LOCALES = (
    "en-IE", "en-GB", "en-US", "en-CA", "en-AU", "en-NZ", "en-IN", "en-ZA", "en-SG",
    "de-DE", "de-AT", "de-CH", "fr-FR", "fr-CA", "fr-BE", "fr-CH", "it-IT", "it-CH",
    "es-ES", "es-MX", "pt-PT", "pt-BR", "nl-NL", "nl-BE", "da-DK", "sv-SE", "nb-NO", "fi-FI",
    "pl-PL", "cs-CZ", "hu-HU", "ro-RO", "bg-BG", "el-GR", "sr-RS", "uk-UA", "tr-TR",
    "ar-EG", "ar-AE", "fa-IR", "he-IL", "hi-IN", "bn-BD", "mr-IN", "th-TH", "vi-VN", "id-ID", "ms-MY",
    "ja-JP", "ko-KR", "zh-CN", "zh-TW",
)  # fmt: skip
"""Languages of most customers; every grouping and sign there is; six whose own digits are not Western."""

DIGITS = {
    "EUR": 2, "USD": 2, "GBP": 2, "CHF": 2, "HUF": 2, "INR": 2, "SEK": 2, "CAD": 2, "RSD": 2,
    "JPY": 0, "KWD": 3, "IQD": 3,
}  # fmt: skip
"""ISO 4217 minor units, list of 1 January 2026. CLDR has other digits for HUF, RSD and IQD."""

AMOUNTS = tuple(map(Decimal, ("0", "0.05", "999.99", "1234.5", "-1234.567", "1234567.891")))
RATES = tuple(map(Decimal, ("0", "0.2", "0.055", "0.09975", "-0.1", "12.34567")))
NUMBERS = tuple(map(Decimal, ("0", "0.5", "1234.5", "12345.678", "-0.125")))
QUANTITIES = tuple(map(Decimal, ("0", "0.5", "1", "2", "5", "11", "21", "100", "1234.5")))
DAYS = (date(2026, 3, 5), date(2026, 12, 31))
INSTANTS = (datetime(2026, 3, 5, 14, 30, tzinfo=UTC), datetime(2026, 7, 31, 23, 5, 59, tzinfo=UTC))


def in_currency(amount: Decimal, code: str) -> Decimal:
    """The amount as the engine would hand it over: rounded half up to the minor unit."""
    return amount.quantize(Decimal(1).scaleb(-DIGITS[code]), ROUND_HALF_UP)
