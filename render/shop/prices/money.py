"""Money: currencies with their minor units, the one rounding rule, and how amounts are written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from render.errors import LibraryError

_BY_EXPONENT: Final = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF",
    2: "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF CHF CNY "
    "COP CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD HKD HNL HTG HUF IDR "
    "ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK "
    "MXN MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP "
    "SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD UYU UZS VED VES WST XCD XCG YER "
    "ZAR ZMW ZWG",
    3: "BHD IQD JOD KWD LYD OMR TND",
}
"""Currencies by the exponent of their minor unit (ISO 4217)."""

_GROUP: Final = "\N{NARROW NO-BREAK SPACE}"
_MINUS: Final = "\N{MINUS SIGN}"


@dataclass(frozen=True, slots=True)
class Currency:
    """A currency: its code, and how many decimals its minor unit has (ISO 4217)."""

    code: str
    exponent: int

    def minor(self, major: Decimal | Fraction | int) -> Fraction:
        """An amount in whole currency units as an exact number of minor units."""
        return Fraction(major) * Fraction(10**self.exponent)

    def figure(self, minor: int) -> str:
        """The amount without the currency's code: a narrow space between thousands, a decimal point.

        >>> Currency("EUR", 2).figure(-123450)
        '−1\u202f234.50'
        """
        whole, part = divmod(abs(minor), 10**self.exponent)
        text = f"{whole:,}".replace(",", _GROUP)
        if self.exponent:
            text += f".{part:0{self.exponent}d}"
        return (_MINUS if minor < 0 else "") + text

    def text(self, minor: int) -> str:
        """The amount with the currency's code, such as ``12.50 EUR``."""
        return f"{self.figure(minor)}\N{NO-BREAK SPACE}{self.code}"

    def plain(self, minor: int) -> str:
        """The amount for machines: a decimal without grouping, such as ``-1234.50``."""
        return str(Decimal(minor).scaleb(-self.exponent)) if self.exponent else str(minor)


CURRENCIES: Final[Mapping[str, Currency]] = {
    code: Currency(code, exponent) for exponent, codes in _BY_EXPONENT.items() for code in codes.split()
}


def currency(code: str) -> Currency:
    """The currency of an ISO 4217 code.

    Raises:
        LibraryError: there is none.
    """
    try:
        return CURRENCIES[code]
    except KeyError:
        hint = "write the three capital letters of ISO 4217, such as EUR, GBP, USD, SEK or JPY"
        raise LibraryError(f"{code!r} is not the code of a currency", hint=hint) from None


def half_up(value: Fraction) -> int:
    """The nearest whole number; a half goes away from zero: the rounding of every line of money.

    >>> half_up(Fraction(5, 2)), half_up(Fraction(-5, 2)), half_up(Fraction(12, 5))
    (3, -3, 2)
    """
    size = (2 * abs(value.numerator) + value.denominator) // (2 * value.denominator)
    return size if value >= 0 else -size


def percent(value: Decimal | Fraction) -> Fraction:
    """Percent as a share: 25 is 1/4."""
    return Fraction(value) / 100


def decimal_text(value: Decimal | Fraction, places: int = 3) -> str:
    """A figure rounded half up to `places` decimals, without trailing zeros.

    >>> decimal_text(Fraction(1, 3)), decimal_text(Decimal("12.50"))
    ('0.333', '12.5')
    """
    text = f"{rounded(Fraction(value), places):f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text) or "0"


def rounded(value: Fraction, places: int = 3) -> Decimal:
    """A figure (minutes, pieces, shares of a sheet) rounded half up to so many decimals."""
    return Decimal(half_up(value * 10**places)).scaleb(-places)
