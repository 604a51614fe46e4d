"""How the API reads what it is sent."""

import io

from django.utils.translation import gettext as _
from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser

DEEPEST = 20


class ShallowJSONParser(JSONParser):
    """JSON that is at most twenty levels deep: a deeper one exhausts the reader."""

    def parse(self, stream, media_type=None, parser_context=None):
        body = stream.read()
        if depth_of(body) > DEEPEST:
            raise ParseError(_("The JSON is nested more than %(n)d deep.") % {"n": DEEPEST})
        return super().parse(io.BytesIO(body), media_type, parser_context)


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
