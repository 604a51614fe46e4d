"""An export of the whole book: asked for, made part by part, fetched later."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from services.models.long_work import LongWork


class BookExport(LongWork):
    """What somebody asked to take along, how far it is, and the file that came of it.

    The file lies in the folder of exports under the id, until its days are over.
    """

    done_at = models.DateTimeField(_("done"), null=True, blank=True)
    gone_at = models.DateTimeField(_("removed"), null=True, blank=True)
    size = models.BigIntegerField(_("bytes"), default=0)
    sha256 = models.CharField(_("SHA-256"), max_length=64, blank=True)
    records = models.PositiveIntegerField(_("records"), default=0)

    class Meta(LongWork.Meta):
        verbose_name = _("export of the book")
        verbose_name_plural = _("exports of the book")

    def __str__(self):
        return f"{self.asked_at:%Y-%m-%d %H:%M}"

    def is_ready(self) -> bool:
        """Say whether its file may be fetched."""
        return self.done_at is not None and self.gone_at is None
