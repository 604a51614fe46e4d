"""What names a product on its label: registration number, formulation code, signal word.

The form of the EPA registration number: company number, dash, product number [EPA-LRM-14]; a
distributor's product carries the distributor's company number as a third group [40CFR152-132].
Formulation codes are those of CropLife International [CROPLIFE-TM2].
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from treatments.rules.facts import SignalWord
from treatments.rules.findings import Refused, gettext_noop
from treatments.rules.table_files import read_toml

FORMULATIONS: dict[str, str] = read_toml("formulations")["codes"]  # [CROPLIFE-TM2]

# The lengths of the groups are from memory; that they are plain numbers was read.
NUMBER = re.compile(r"(\d{1,6})-(\d{1,5})(?:-(\d{1,6}))?", re.ASCII)
# A product that is not registered yet has letters of the word REGULATION for digits [EPA-LRM-14]
FILE_SYMBOL = re.compile(r"\d{1,6}-[regulation]{1,5}", re.ASCII | re.IGNORECASE)

STRENGTH = [
    SignalWord.NONE,
    SignalWord.CAUTION,
    SignalWord.WARNING,
    SignalWord.DANGER,
    SignalWord.DANGER_POISON,
]

NOT_REGISTERED = gettext_noop("%(symbol)s is a file symbol: the product is not registered.")
NO_NUMBER_OF_EPA = gettext_noop(
    "%(text)s is not an EPA registration number: write company-product, such as 0-101, with the "
    "distributor's number as a third group where the label prints one."
)


class RegistrationNumberMalformed(Refused):
    """The text is not an EPA registration number."""


class ProductNotRegistered(RegistrationNumberMalformed):
    """The text is the file symbol of a product that is not registered yet."""


class FormulationUnknown(ValueError):
    """The letters are no formulation code of the table."""


@dataclass(frozen=True, slots=True)
class RegistrationNumber:
    """An EPA registration number, in its groups."""

    company: int
    product: int
    distributor: int | None = None

    def __str__(self) -> str:
        groups = [self.company, self.product, self.distributor]
        return "-".join(str(group) for group in groups if group is not None)

    def cannot_exist(self) -> bool:
        """Say whether a group is zero; numbers are given out from one upward [EPA-LRM-14].

        >>> parse_registration_number("0-101").cannot_exist()
        True
        """
        return 0 in (self.company, self.product, self.distributor)

    def same_product_as(self, other: "RegistrationNumber") -> bool:
        """Say whether both are one registered product, whoever distributes it [40CFR152-132].

        >>> one = parse_registration_number("0-101")
        >>> one.same_product_as(parse_registration_number("0-101-7"))
        True
        """
        return (self.company, self.product) == (other.company, other.product)


def parse_registration_number(text: str) -> RegistrationNumber:
    """Return the groups of a registration number as printed after "EPA Reg. No.".

    Raise ProductNotRegistered for a file symbol such as 6767-EGN, RegistrationNumberMalformed
    for anything else that is not such a number [EPA-LRM-14].

    >>> parse_registration_number("00000-12-345")
    RegistrationNumber(company=0, product=12, distributor=345)
    """
    written = text.strip()
    if match := NUMBER.fullmatch(written):
        company, product, distributor = match.groups()
        return RegistrationNumber(
            int(company), int(product), int(distributor) if distributor else None
        )
    if FILE_SYMBOL.fullmatch(written):
        raise ProductNotRegistered(NOT_REGISTERED, symbol=written)
    raise RegistrationNumberMalformed(NO_NUMBER_OF_EPA, text=repr(text))


def check_registration_number(text: str) -> None:
    """Raise RegistrationNumberMalformed unless the text is a registration number.

    >>> check_registration_number("0-101")
    """
    parse_registration_number(text)


def formulation_name(code: str) -> str:
    """Return the name of a formulation code [CROPLIFE-TM2].  Raise FormulationUnknown.

    >>> formulation_name("EC")
    'emulsifiable concentrate'
    """
    if code not in FORMULATIONS:
        raise FormulationUnknown(f"{code!r} is no formulation code: see the product's label.")
    return FORMULATIONS[code]


def strongest_signal_word(words: Iterable[SignalWord]) -> SignalWord:
    """Return the word that a sheet for several products shows: the strongest [40CFR156-64].

    >>> strongest_signal_word([SignalWord.CAUTION, SignalWord.WARNING])
    <SignalWord.WARNING: 'WARNING'>
    """
    return max(words, key=STRENGTH.index, default=SignalWord.NONE)
