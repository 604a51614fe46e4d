"""How the API divides long lists."""

from django.utils.translation import gettext_lazy as _
from rest_framework.pagination import LimitOffsetPagination

COUNTED = 10_000
FARTHEST = 10**12  # rows that may be skipped; a database takes no larger number than its own


def total_of(rows, counts_all):
    """Return how many rows there are, None where that is not counted to the end."""
    if counts_all:
        return rows.count()
    total = rows.order_by().values("pk")[: COUNTED + 1].count()
    return total if total <= COUNTED else None


class Pages(LimitOffsetPagination):
    """Fifty rows at a time unless asked otherwise, never more than two hundred.

    What a list takes is not to grow with its table: above ten thousand `count` is null, and told
    where `count=all` asks for it.
    """

    default_limit = 50
    max_limit = 200

    def paginate_queryset(self, queryset, request, view=None):
        limit = self.get_limit(request) or self.default_limit
        offset = min(self.get_offset(request), FARTHEST)
        found = list(queryset[offset : offset + limit + 1])
        self.request, self.limit, self.offset = request, limit, offset
        self.count = offset + len(found)  # so many there are at least, by which "next" goes
        ends_here = len(found) <= limit and (found or not offset)
        counts_all = request.query_params.get("count") == "all"
        self.total = self.count if ends_here else total_of(queryset, counts_all)
        return found[:limit]

    def get_paginated_response(self, data):
        answer = super().get_paginated_response(data)
        answer.data["count"] = self.total
        return answer

    def get_paginated_response_schema(self, schema):
        described = super().get_paginated_response_schema(schema)
        described["properties"]["count"] |= {
            "nullable": True,
            "description": _("How many there are in all; null above 10,000 unless asked for."),
        }
        return described

    def get_schema_operation_parameters(self, view):
        asked = {
            "name": "count",
            "required": False,
            "in": "query",
            "description": _("Whether what is more than 10,000 is counted too."),
            "schema": {"type": "string", "enum": ["all"]},
        }
        return [*super().get_schema_operation_parameters(view), asked]
