"""When and by whom: the app's own name, and what it tells the apps below it."""

from celery.signals import task_prerun
from django.apps import AppConfig
from django.conf import settings
from django.db.backends.signals import connection_created
from django.db.models.signals import post_migrate
from django.utils.translation import gettext_lazy as _


class ServicesConfig(AppConfig):
    """When and by whom."""

    name = "services"
    verbose_name = _("When and by whom")

    def ready(self):
        from clients.access import Reach
        from services.dispatching.store import reserved_amounts
        from services.disposing import dispose_of_past, past_their_time
        from services.journaling import CONTACT
        from services.owing import reports_owed
        from services.project.error_reports import report_errors
        from services.project.slow_queries import time_queries
        from services.reach import properties_entered_today, properties_of_technician
        from services.searching import install_index
        from services.shopping import wanted_from
        from treatments.chosen import forget
        from treatments.disposing import Beside
        from treatments.guarding import guard
        from treatments.owing import Owing
        from treatments.reserving import Reserved
        from treatments.shopping import Shopping

        if settings.SLOW_QUERY_MS:
            connection_created.connect(time_queries)
        if settings.SENTRY_DSN:
            report_errors(settings.SENTRY_DSN)
        task_prerun.connect(forget)
        post_migrate.connect(install_index, sender=self)
        guard(
            "services_contactattempt",
            "a contact attempt",
            "form_id",
            disposed_as=CONTACT,
            blanked=("name", "note"),
        )
        guard("services_chargecorrection", "a correction of a charge", "form_id")
        guard("services_estimateanswer", "an answer to an estimate", "estimate_id")
        guard("services_payment", "a payment", "form_id", "takes_back_id")
        guard("services_statement", "a statement", "number", "form_id")
        guard("services_statementline", "a line of a statement", "visit_id", "correction_id")
        guard("services_statementpaper", "the paper of a statement", "statement_id")
        Beside.count_past = staticmethod(lambda today: sum(1 for _ in past_their_time(today)))
        Beside.dispose_of_past = staticmethod(dispose_of_past)
        Reach.properties_of = staticmethod(properties_of_technician)
        Reach.entered_today_by = staticmethod(properties_entered_today)
        Owing.reports_of = staticmethod(reports_owed)
        Reserved.amounts_of = staticmethod(reserved_amounts)
        Shopping.wanted_from = staticmethod(wanted_from)
