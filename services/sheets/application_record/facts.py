"""What an application record says, as plain data: values as text, labels by their key."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from types import MappingProxyType

from services.sheets.layout import Imprint


@dataclass(frozen=True, slots=True)
class RuleSet:
    """A rule that asks for this record."""

    code: str
    name: str
    citation: str
    verified: bool = False


@dataclass(frozen=True, slots=True)
class Times:
    """The three times of a record: when it was done, captured on the device, received."""

    done_at: datetime
    received_at: datetime
    captured_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Change:
    """One field before and after an amendment; the field is a key, or a label as text."""

    field: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Amendment:
    """A later record that corrects this one."""

    number: str
    made_at: datetime
    author: str
    reason: str
    changes: tuple[Change, ...]
    approved_by: str = ""


@dataclass(frozen=True, slots=True)
class Void:
    """Why, when and by whom a record was declared void."""

    reason: str
    made_at: datetime
    author: str
    approved_by: str = ""


@dataclass(frozen=True, slots=True)
class LogHead:
    """The newest head of the log of records when the paper was printed.

    root: root hash of the log in hexadecimal digits
    checkpoint: the whole checkpoint, for the code beside it
    """

    size: int
    root: str
    checkpoint: str = ""


@dataclass(frozen=True, slots=True)
class ApplicationRecord:
    """One product on one planting at one visit.

    values: text by the keys of FIELDS; what is missing or empty prints as not applicable
    flags: sentences the office must see, such as a late entry
    first_aid: what the label printed, as the record copied it
    """

    number: str
    times: Times
    values: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    rule_sets: tuple[RuleSet, ...] = ()
    flags: tuple[str, ...] = ()
    amendments: tuple[Amendment, ...] = ()
    void: Void | None = None
    first_aid: str = ""
    signal_word: str = ""


@dataclass(frozen=True, slots=True)
class ApplicationRecords:
    """One record or a batch of them, each on pages of its own."""

    imprint: Imprint
    records: tuple[ApplicationRecord, ...]
    log_head: LogHead | None = None
    with_index: bool = False
