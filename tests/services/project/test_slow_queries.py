"""What takes long is told by its statement, never by its values."""

import logging
from types import SimpleNamespace

import pytest
from django.db import connection

from clients.models import Client
from services.project.slow_queries import SlowQueries, time_queries


def told(caplog):
    return [record for record in caplog.records if record.message == "slow query"]


@pytest.mark.django_db
def test_a_slow_query_is_told_without_what_was_looked_for(caplog, reading_society):
    with connection.execute_wrapper(SlowQueries(0)):
        list(Client.objects.filter(name="Reading Society"))
        Client.objects.extra(where=["city = 'Nowhere'"]).count()

    first, second = told(caplog)
    assert first.levelno == logging.WARNING
    assert "clients_client" in first.sql
    assert "WHERE" in first.sql
    assert first.ms >= 0
    assert "Reading Society" not in str(vars(first))
    assert "Nowhere" not in str(vars(second))


@pytest.mark.django_db
def test_a_quick_query_is_not_told(caplog, reading_society):
    with connection.execute_wrapper(SlowQueries(60_000)):
        assert Client.objects.count() == 1

    assert not told(caplog)


@pytest.mark.django_db
def test_a_query_that_fails_is_told_as_well(caplog):
    def fail(*_told):
        raise LookupError

    with pytest.raises(LookupError):
        SlowQueries(0)(fail, "SELECT 1", None, False, {})

    assert [record.sql for record in told(caplog)] == ["SELECT 1"]


def test_a_connection_is_timed_once_however_often_it_connects(settings):
    settings.SLOW_QUERY_MS = 7
    fresh = SimpleNamespace(execute_wrappers=[])

    time_queries(fresh)
    time_queries(fresh)

    assert [each.least_ms for each in fresh.execute_wrappers] == [7]
