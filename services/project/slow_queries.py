"""A line in the log for each query that took long: what was asked, never with which values."""

import logging
import re
from time import perf_counter

from django.conf import settings

logger = logging.getLogger(__name__)

LONGEST = 2_000  # signs of a statement that are told
LITERAL = re.compile(r"'(?:[^']|'')*'")


class SlowQueries:
    """Times each query of a connection; it is one of Django's execute wrappers.

    least_ms: from how many milliseconds on one is told
    """

    def __init__(self, least_ms: int) -> None:
        self.least_ms = least_ms

    def __call__(self, execute, sql, params, many, context):
        start = perf_counter()
        try:
            return execute(sql, params, many, context)
        finally:
            took = (perf_counter() - start) * 1000
            if took >= self.least_ms:
                logger.warning("slow query", extra={"ms": round(took), "sql": without_values(sql)})


def without_values(sql: object) -> str:
    """Return a statement without what somebody may have written into it.

    >>> without_values("SELECT 1 WHERE name = %s AND city = 'O''Fallon'")
    "SELECT 1 WHERE name = %s AND city = '…'"
    """
    return LITERAL.sub("'…'", str(sql))[:LONGEST]


def time_queries(connection, **_told: object) -> None:
    """Have the queries of a new connection timed, once however often it connects."""
    if not any(isinstance(each, SlowQueries) for each in connection.execute_wrappers):
        connection.execute_wrappers.append(SlowQueries(settings.SLOW_QUERY_MS))
