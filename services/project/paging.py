"""How the API divides long lists."""

from rest_framework.pagination import LimitOffsetPagination


class Pages(LimitOffsetPagination):
    """Fifty rows at a time unless asked otherwise, never more than two hundred."""

    default_limit = 50
    max_limit = 200
