"""The second factor of a sign-in: what makes a person's one-time codes, and the codes of paper."""

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _


class Authenticator(models.Model):
    """What makes a person's one-time codes; the word is that of NIST SP 800-63B.

    Its secret is kept nowhere: it is made of the seed and the book's own secret key.

    last_step: of the code that was taken last, by RFC 6238; none of then or before is taken again
    wrong_codes: how many were wrong since `wrong_since`, wherever they came from
    """

    person = models.OneToOneField(
        settings.AUTH_USER_MODEL,
        models.CASCADE,
        related_name="authenticator",
        verbose_name=_("person"),
    )
    seed = models.CharField(max_length=64, editable=False)
    turned_on_at = models.DateTimeField(_("turned on"))
    last_step = models.PositiveBigIntegerField(editable=False)
    wrong_codes = models.PositiveSmallIntegerField(_("wrong codes"), default=0)
    wrong_since = models.DateTimeField(_("wrong since"), null=True, blank=True)

    class Meta:
        ordering = ["person"]
        verbose_name = _("one-time codes of a person")
        verbose_name_plural = _("one-time codes of people")

    def __str__(self):
        return self.person.get_username()


class RecoveryCode(models.Model):
    """A code on paper that stands for one of the phone, once; only its digest is kept."""

    authenticator = models.ForeignKey(
        Authenticator, models.CASCADE, related_name="recovery_codes", editable=False
    )
    digest = models.CharField(max_length=64, unique=True, editable=False)
    used_at = models.DateTimeField(_("used"), null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        verbose_name = _("recovery code")
        verbose_name_plural = _("recovery codes")

    def __str__(self):
        return str(self.authenticator)
