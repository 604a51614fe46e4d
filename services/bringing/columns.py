"""The columns of a kind of file, and what becomes of a row: the base of all kinds.

Each kind is a resource of django-import-export; its columns follow the fields of the book's own
form.  A row is looked at by `import_row` in a dry run, which writes nothing and needs no
transaction; what was found good is kept by `keep_all`, all at once.
"""

from collections.abc import Iterable, Mapping, Sequence
from functools import reduce
from operator import and_
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import CheckConstraint, Q
from django.utils.encoding import force_str
from django.utils.functional import cached_property
from django.utils.translation import gettext as _
from django.utils.translation import override
from import_export.fields import Field
from import_export.resources import ModelResource

from clients.access import OFFICE, Role
from services.bringing.cells import Cell, Day, Number, OneOf, Several, Whole, YesNo
from services.bringing.reading import plain_head
from treatments.models.fields import CodeListField

BATCH = 200  # rows that are written by one statement


class Column(Field):
    """A column of a file: its head, its reader, and the line that explains it."""

    def __init__(self, *, model_field: models.Field | None = None, is_needed: bool, **options: Any):
        super().__init__(**options)
        self.model_field, self.is_needed = model_field, is_needed

    def clean(self, row: Mapping[str, Any], **kwargs: Any) -> Any:
        """Return what a row says here; what is missing or empty is what the book assumes."""
        value = self.widget.clean(row.get(self.column_name, ""), row=row, **kwargs)
        if value not in (None, "", []):
            return value
        if self.is_needed:
            raise ValueError(_("It is needed."))
        field = self.model_field
        return field.get_default() if field is not None and field.has_default() else value

    def explained(self) -> str:
        """Return the line that explains it, in the language of the moment."""
        need = _("needed") if self.is_needed else _("may be left empty")
        told = [f"{self.widget.explained()}; {need}."]
        if self.model_field is not None:
            name = force_str(self.model_field.verbose_name)
            told.insert(0, f"{name[:1].upper()}{name[1:]}:")
            told.append(force_str(self.model_field.help_text))
        return " ".join(part for part in told if part)

    def heads(self) -> set[str]:
        """Return the heads by which it is known, in either language."""
        known = {plain_head(self.column_name)}
        if self.model_field is not None:
            for language in ("en", "es"):
                with override(language):
                    known.add(plain_head(force_str(self.model_field.verbose_name)))
        return known


def reader_of(field: models.Field) -> Cell:
    """Return the reader for a column of the book."""
    if isinstance(field, CodeListField):
        return Several(field.codes)
    if field.choices:
        return OneOf(field.choices)
    for kind, reader in READERS.items():
        if isinstance(field, kind):
            return reader()
    return Cell()


READERS: Mapping[type[models.Field], type[Cell]] = {
    models.BooleanField: YesNo,
    models.DecimalField: Number,
    models.IntegerField: Whole,
    models.DateField: Day,
}


def columns_for(model: type[models.Model], names: Iterable[str]) -> list[Column]:
    """Return the columns of a file for fields of a model."""
    return [column_for(model._meta.get_field(name)) for name in names]


def column_for(field: Any, **options: Any) -> Column:
    """Return the column of a file for a column of the book."""
    is_needed = not (field.blank or field.null or field.has_default())
    given: dict[str, Any] = {"attribute": field.name, "column_name": field.name.replace("_", " ")}
    given |= {"widget": reader_of(field), "is_needed": is_needed, "model_field": field} | options
    return Column(**given)


class Kind(ModelResource):
    """A kind of things that a file may bring.

    name: by which addresses and rows know it; noun: how pages call it; roles: who may bring it
    most_rows: of one file, fewer where each takes a line of the ledger and the journal
    """

    name: str
    noun: Any
    roles: frozenset[Role] = OFFICE
    most_rows = 20_000
    do_not_call_in_templates = True  # a page that names a kind does not begin a look

    class Meta:
        skip_diff = True

    def __init__(self, **known: Any):
        """Begin a look at a file.

        known: `by`, who brings it, `taken_from`, the name of the file, `now`
        """
        super().__init__()
        self.known = known
        self.fields = {each.column_name: each for each in self.make_columns()}
        self.is_checked = False
        self.hints: list[tuple[str, str]] = []  # column and sentence, of the row at hand

    def make_columns(self) -> list[Column]:
        """Return the columns in the order of the file to fill in."""
        raise NotImplementedError

    def columns(self) -> list[Column]:
        """Return the columns in the order of the file to fill in."""
        return list(self.fields.values())

    def key_of(self, thing: Any) -> tuple:
        """Return by what two rows bring the same thing."""
        raise NotImplementedError

    def key_column(self) -> str:
        """Return the column at which a double is told."""
        return self.columns()[0].column_name

    @cached_property
    def in_book(self) -> dict[tuple, Any]:
        """Hold what the book has of the kind, by key."""
        return {self.key_of(thing): thing for thing in self.rows_of_book()}

    def rows_of_book(self) -> Iterable[Any]:
        """Return what the book has of the kind, with all that its columns read."""
        return self._meta.model._default_manager.all()

    def rows_to_write(self) -> Iterable[Any]:
        """Return what of the book a file would bring into an empty one."""
        return self.rows_of_book()

    def values_of(self, thing: Any) -> dict[str, Any]:
        """Return what a thing says, by column, as it is written into a file."""
        return dict(zip(self.fields, self.export_resource(thing), strict=True))

    def get_import_fields(self):
        return self.columns()

    def get_export_fields(self, selected_fields=None):
        return self.columns()

    def hint(self, column: str, sentence: str) -> None:
        """Say something of the row at hand that does not stand against it."""
        self.hints.append((column, sentence))

    def get_or_init_instance(self, instance_loader: Any, row: Any) -> tuple[Any, bool]:
        """Return a new thing: what the book has is never changed by a file."""
        return self.init_instance(row), True

    def validate_instance(
        self, instance, import_validation_errors=None, validate_unique=True
    ) -> None:
        """Refuse what the model refuses; what must be alone of its kind is told by its key."""
        errors = dict(import_validation_errors or {})
        if not self.is_checked:
            for check in (self.check_fields, self.check_row):
                try:
                    check(instance, set(errors))
                except ValidationError as wrong:
                    errors = wrong.update_error_dict(errors)
        if errors:
            raise ValidationError(errors)

    def check_fields(self, thing: Any, wrong: set[str]) -> None:
        """Raise ValidationError for each field that breaks a rule of its own."""
        # What a row names was found in the book a moment ago, so nobody asks for it again.
        named = {each.name for each in thing._meta.fields if each.is_relation and not each.null}
        found = {name for name in named if getattr(thing, f"{name}_id", None) is not None}
        thing.clean_fields(exclude=wrong | found)

    def check_row(self, thing: Any, wrong: set[str]) -> None:
        """Raise ValidationError where the fields do not go together."""
        if wrong:
            return
        thing.clean()
        refuse_by_constraints(thing)

    def save_instance(self, instance, is_create, row, **kwargs) -> None:
        """Write nothing: what is good is kept by `keep_all`, or not at all."""

    def save_m2m(self, instance, row, **kwargs) -> None:
        """Write nothing, as above."""

    def keep_all(self, things: Sequence[Any], by: Any) -> list[models.Model]:
        """Write what a file brings; return all rows that were made, in the order of their making.

        Runs within the transaction of the whole file.
        """
        return list(self._meta.model._default_manager.bulk_create(things, batch_size=BATCH))


def refuse_by_constraints(thing: models.Model) -> None:
    """Raise ValidationError where a check of the database would refuse a thing.

    Each check asks the database, so all are asked as one first.
    """
    checks = [each for each in thing._meta.constraints if isinstance(each, CheckConstraint)]
    if not checks:
        return
    together = CheckConstraint(name="together", condition=reduce(and_, conditions(checks)))
    try:
        together.validate(type(thing), thing)
    except ValidationError:
        for check in checks:
            check.validate(type(thing), thing)
        raise


def conditions(checks: Iterable[CheckConstraint]) -> list[Q]:
    """Return the conditions of checks as they may be put together."""
    return [Q(each.condition) for each in checks]


def column_of_error(kind: Kind, attribute: str) -> Column | None:
    """Return the column that stands for an attribute of a thing, if one does."""
    return next((each for each in kind.columns() if each.attribute == attribute), None)
