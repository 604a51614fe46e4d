"""Rows that are written once: the model refuses a second save, the database refuses the rest."""

from django.core.exceptions import ValidationError
from django.db import models
from django.utils.translation import gettext_lazy as _


class AppendOnlyQuerySet(models.QuerySet):
    """A query set that reads and adds, and neither changes nor removes."""

    def update(self, **changes):
        """Refuse to change rows that are kept for good."""
        raise row_is_final(self.model)

    def delete(self):
        """Refuse to remove rows that are kept for good."""
        raise row_is_final(self.model)


class AppendOnly(models.Model):
    """A row that is neither changed nor removed; triggers in the database stand behind it."""

    objects = AppendOnlyQuerySet.as_manager()

    class Meta:
        abstract = True

    def save(self, *args, **kwargs):
        if not self._state.adding:
            raise row_is_final(type(self))
        super().save(*args, **kwargs)

    def delete(self, *args, **kwargs):
        raise row_is_final(type(self))


def row_is_final(model: type[models.Model]) -> ValidationError:
    """Return the refusal of a change to a row that is kept for good."""
    return ValidationError(
        _("A kept %(noun)s is not changed or removed; add another that corrects it."),
        params={"noun": model._meta.verbose_name},
        code="final",
    )
