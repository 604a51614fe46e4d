"""What is known of the program itself: which workers live, and what checks of the book found."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class Pulse(models.Model):
    """When a worker last took something from a queue."""

    queue = models.CharField(_("queue"), max_length=20, unique=True)
    beaten_at = models.DateTimeField(_("last heard of"))

    class Meta:
        ordering = ["queue"]
        verbose_name = _("sign of life")
        verbose_name_plural = _("signs of life")

    def __str__(self):
        return f"{self.queue}, {self.beaten_at:%Y-%m-%d %H:%M}"


class Check(models.Model):
    """A check of the whole book, begun at most once a day; without an end it was broken off."""

    day = models.DateField(_("day"), unique=True)
    begun_at = models.DateTimeField(_("begun"))
    ended_at = models.DateTimeField(_("ended"), null=True, blank=True)
    entries = models.PositiveBigIntegerField(_("entries"), default=0)
    faults = models.PositiveBigIntegerField(_("faults"), default=0)
    first_fault = models.TextField(_("first fault"), blank=True)

    class Meta:
        ordering = ["-day"]
        verbose_name = _("check of the book")
        verbose_name_plural = _("checks of the book")

    def __str__(self):
        return f"{self.day:%Y-%m-%d}"
