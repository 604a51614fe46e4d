"""Papers kept as files: labels and safety data sheets of products, proofs of who applies."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _


class KeptPaper(models.Model):
    """A file that was handed to the book: of a product or of a person, never of both.

    The file lies under its own hash, outside what a web server serves.
    """

    class Kind(models.TextChoices):
        """What the paper is."""

        LABEL = "label", _("label")
        SUPPLEMENT = "supplement", _("supplemental label")
        SAFETY_SHEET = "safety sheet", _("safety data sheet")
        CERTIFICATE = "certificate", _("certificate")
        TRAINING = "training", _("proof of training")
        FIT_TEST = "fit test", _("result of a fit test")

    OF_PRODUCT = (Kind.LABEL, Kind.SUPPLEMENT, Kind.SAFETY_SHEET)
    OF_PERSON = (Kind.CERTIFICATE, Kind.TRAINING, Kind.FIT_TEST)

    product = models.ForeignKey(
        "treatments.Product",
        models.CASCADE,
        null=True,
        blank=True,
        related_name="papers",
        verbose_name=_("product"),
    )
    applicator = models.ForeignKey(
        "treatments.Applicator",
        models.CASCADE,
        null=True,
        blank=True,
        related_name="papers",
        verbose_name=_("applicator"),
    )
    kind = models.CharField(_("what it is"), max_length=12, choices=Kind.choices)
    dated = models.DateField(_("dated"), null=True, blank=True)
    version = models.CharField(
        _("version"), max_length=60, blank=True, help_text=_("As the paper itself names it.")
    )
    name = models.CharField(_("name of the file"), max_length=200)
    media_type = models.CharField(max_length=30, editable=False)
    size = models.PositiveIntegerField(_("bytes"), editable=False)
    sha256 = models.CharField(max_length=64, editable=False)
    kept_at = models.DateTimeField(_("kept"), editable=False)
    kept_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        related_name="papers_kept",
        verbose_name=_("kept by"),
        editable=False,
    )

    class Meta:
        ordering = ["kind", "-dated", "-pk"]
        verbose_name = _("paper")
        verbose_name_plural = _("papers")
        constraints = [
            models.CheckConstraint(
                name="paper_is_of_one_thing",
                condition=Q(product__isnull=False, applicator__isnull=True)
                | Q(product__isnull=True, applicator__isnull=False),
            ),
            models.UniqueConstraint("product", "kind", "sha256", name="paper_once_a_product"),
            models.UniqueConstraint("applicator", "kind", "sha256", name="paper_once_a_person"),
        ]

    def __str__(self):
        return f"{self.get_kind_display()}: {self.name}"
