"""Lines of the ledger that no record tells of are appended to the journal, as entered now."""

import secrets

import django.utils.timezone
from django.db import migrations


def append_kept_lines(apps, schema_editor):
    """Append the lines that are there, in their order."""
    from treatments.chain import SALT_LENGTH, SYSTEM, has_entry, journal_size, peaks
    from treatments.journaling import stock_columns, told
    from treatments.rules.journal import STOCK, entry_id_of, write_entry
    from treatments.rules.merkle import Frontier

    lines = apps.get_model("treatments", "StockEntry").objects.filter(record__isnull=True)
    entry_model = apps.get_model("treatments", "JournalEntry")
    now, size = django.utils.timezone.now(), journal_size()
    tree = Frontier(size, peaks(size))
    for line in lines.order_by("pk").select_related("lot__product").iterator(chunk_size=500):
        entry_id = entry_id_of(STOCK, line.pk)
        if has_entry(entry_id):
            continue
        names = told({"lot_number": line.lot.lot_number, "product": line.lot.product.name})
        entry = write_entry(
            seq=tree.size,
            kind=STOCK,
            entry_id=entry_id,
            amends=None,
            actor=SYSTEM,
            recorded_at=now,
            body=stock_columns(line) | names,
            salt=secrets.token_bytes(SALT_LENGTH),
            peaks=tree.peaks,
        )
        entry_model.objects.create(**entry._asdict())
        tree.add(bytes.fromhex(entry.leaf_hash))


class Migration(migrations.Migration):
    dependencies = [
        ("treatments", "0014_records_are_disposed_of"),
    ]

    operations = [
        migrations.RunPython(append_kept_lines, migrations.RunPython.noop),
    ]
