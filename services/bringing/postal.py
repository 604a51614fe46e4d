"""ZIP codes from spreadsheets, which take them for numbers and drop their zeros."""

import re
from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _

SHORT = re.compile(r"\d{3,4}(-\d{4})?")


def with_leading_zeros(kind: Any, row: Mapping[str, str]) -> dict[str, str]:
    """Return the ZIP code of a row with the zeros that it lost, and say so; {} where it has all.

    One of New Jersey, such as 08560, comes out of a spreadsheet as 8560.
    """
    written = row.get("postal code", "").strip()
    if not SHORT.fullmatch(written):
        return {}
    digits, dash, rest = written.partition("-")
    whole = f"{digits.zfill(5)}{dash}{rest}"
    said = _("%(written)s is read as %(whole)s.") % {"written": written, "whole": whole}
    kind.hint("postal code", said)
    return {"postal code": whole}
