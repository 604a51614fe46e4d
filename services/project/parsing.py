"""How the API reads what it is sent."""

import io
import re

from django.utils.translation import gettext as _
from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser

DEEPEST = 20
SURROGATE = re.compile("[\ud800-\udfff]")


class ShallowJSONParser(JSONParser):
    """JSON that is at most twenty levels deep, and whose texts can be written again.

    A deeper one exhausts the reader; half a surrogate pair stops the answer that repeats it.
    """

    def parse(self, stream, media_type=None, parser_context=None):
        body = stream.read()
        if depth_of(body) > DEEPEST:
            raise ParseError(_("The JSON is nested more than %(n)d deep.") % {"n": DEEPEST})
        told = super().parse(io.BytesIO(body), media_type, parser_context)
        if not can_be_written(told):
            raise ParseError(_("The request could not be understood."))
        return told


def can_be_written(told: object) -> bool:
    """Say whether every text in what was read has a form in UTF-8."""
    if isinstance(told, dict):
        return all(can_be_written(each) for pair in told.items() for each in pair)
    if isinstance(told, list):
        return all(can_be_written(each) for each in told)
    return not isinstance(told, str) or not SURROGATE.search(told)


def depth_of(body: bytes) -> int:
    """Return how deep the brackets of a JSON text are nested, leaving out those in strings."""
    deepest = depth = 0
    in_string = escaped = False
    for sign in body:
        if in_string:
            in_string = escaped or sign != ord('"')
            escaped = sign == ord("\\") and not escaped
        elif sign == ord('"'):
            in_string = True
        else:
            depth += (sign in b"[{") - (sign in b"]}")
            deepest = max(deepest, depth)
    return deepest
