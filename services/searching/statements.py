"""The SQL of the index of words: what is found of each table, and the triggers that keep it."""

from dataclasses import dataclass

TABLE = "services_sought"
OF_A_KIND = 1 << 48  # ids of a kind; the kind stands before them


@dataclass(frozen=True, slots=True)
class Sought:
    """A table whose rows are found: its number, name and columns, and the marks of a row.

    property, jurisdiction, day: what gives the marks, in SQL where {row} is the row; "" for none
    product: whether the words of its product are the row's as well
    is_final: whether a change of the row can only be that it was disposed of
    """

    number: int
    table: str
    columns: tuple[str, ...]
    property: str = ""
    jurisdiction: str = ""
    day: str = ""
    product: bool = False
    is_final: bool = False

    def base(self) -> int:
        """Return the number before the first id."""
        return self.number * OF_A_KIND


CLIENTS = Sought(
    1,
    "clients_client",
    ("name", "email", "phone", "street", "city", "region", "postal_code", "note"),
)
PROPERTIES = Sought(
    2,
    "clients_property",
    ("name", "street", "city", "county", "postal_code", "jurisdiction", "minded_note"),
    property="{row}.id",
)
PLANTINGS = Sought(
    3,
    "clients_planting",
    ("name", "common_name", "species", "eppo_code", "note"),
    property="{row}.property_id",
)
LOTS = Sought(4, "treatments_lot", ("lot_number", "not_marked_reason"), product=True)
RECORDS = Sought(
    5,
    "treatments_applicationrecord",
    (
        "number",
        "product_name",
        "epa_registration_number",
        "lot_number",
        "customer_name",
        "site_address",
        "site_description",
        "target_pest",
        "applicator_name",
    ),
    property="(SELECT property_id FROM clients_planting WHERE id = {row}.planting_id)",
    jurisdiction="{row}.jurisdiction",
    day="{row}.done_at",
    is_final=True,
)
ALL = (CLIENTS, PROPERTIES, PLANTINGS, LOTS, RECORDS)
PRODUCTS = "treatments_product"
OF_PRODUCT = "name", "epa_registration_number"

# PostgreSQL has no words without accents of its own: these are taken off in European letters.
ACCENTED = "áàâäãåāæçćčéèêëēíìîïīñńóòôöõøōúùûüūýÿžźżšśłđğ"
BARE = "aaaaaaaaccceeeeeiiiiinnooooooouuuuuyyzzzsslddg"[: len(ACCENTED)]
WORDS_IN_POSTGRESQL = (
    "CREATE OR REPLACE FUNCTION duskbook_words(told text) RETURNS tsvector "
    "LANGUAGE sql IMMUTABLE PARALLEL SAFE AS $$ SELECT array_to_tsvector(array_remove("
    f"regexp_split_to_array(translate(lower(told), '{ACCENTED}{ACCENTED.upper()}', "
    f"'{BARE}{BARE}'), "
    r"""'[][\s!-/:-@\\^_`{-~¡-¿×÷‐-‧‹›“”„‚‘’]+'), '')) $$"""
)


def words_sql(sought: Sought, row: str, vendor: str) -> str:
    """Return the SQL of the text of a row: what its columns say, and its marks.

    row: by which name the statement calls the row
    """
    sign, month = ("char(57344)", "substr({day}, 1, 7)")
    if vendor == "postgresql":
        sign, month = "chr(57344)", "to_char({day} AT TIME ZONE 'UTC', 'YYYY-MM')"
    parts = [f"coalesce(CAST({row}.{column} AS text), '')" for column in sought.columns]
    if sought.product:
        of_product = f"FROM {PRODUCTS} WHERE id = {row}.product_id"
        parts += [f"(SELECT {column} {of_product})" for column in OF_PRODUCT]
    marks = [("p", sought.property), ("j", sought.jurisdiction)]
    if sought.day:
        marks.append(("m", month.format(day=sought.day)))
    for letter, told in marks:
        if told:
            bare = f"replace(CAST({told.format(row=row)} AS text), '-', '')"
            parts.append(f"coalesce({sign} || '{letter}' || {bare}, '')")
    text = " || ' ' || ".join(parts)
    return f"duskbook_words({text})" if vendor == "postgresql" else text


def sqlite_triggers(sought: Sought) -> dict[str, str]:
    """Return the triggers on a table of SQLite, by name."""
    table, base = sought.table, sought.base()
    adding = (
        f"INSERT INTO {TABLE}(rowid, words) "
        f"SELECT {base} + NEW.id, {words_sql(sought, 'NEW', 'sqlite')};"
    )
    leaving = f"DELETE FROM {TABLE} WHERE rowid = {base} + OLD.id;"
    changing = leaving if sought.is_final else f"{leaving} {adding}"
    watched = "" if sought.is_final else f" OF {', '.join(watched_columns(sought))}"
    made = {
        f"{table}_sought_new": f"AFTER INSERT ON {table} BEGIN {adding} END",
        f"{table}_sought_changed": f"AFTER UPDATE{watched} ON {table} BEGIN {changing} END",
        f"{table}_sought_gone": f"AFTER DELETE ON {table} BEGIN {leaving} END",
    }
    if sought.product:
        again = (
            f"DELETE FROM {TABLE} WHERE rowid IN "
            f"(SELECT {base} + id FROM {table} WHERE product_id = NEW.id); "
            f"INSERT INTO {TABLE}(rowid, words) SELECT {base} + one.id, "
            f"{words_sql(sought, 'one', 'sqlite')} FROM {table} one WHERE one.product_id = NEW.id;"
        )
        made[f"{PRODUCTS}_sought_changed"] = (
            f"AFTER UPDATE OF {', '.join(OF_PRODUCT)} ON {PRODUCTS} BEGIN {again} END"
        )
    return made


def watched_columns(sought: Sought) -> list[str]:
    """Return the columns whose change changes the words of a row."""
    owners = [name for name in ("property_id", "product_id") if name in _names(sought)]
    return [*sought.columns, *owners]


def _names(sought: Sought) -> set[str]:
    is_of_property = sought.property == "{row}.property_id"
    return {"property_id"} if is_of_property else {"product_id"} if sought.product else set()


def postgresql_triggers(sought: Sought) -> dict[str, list[str]]:
    """Return the statements that make the triggers on a table of PostgreSQL, by their names."""
    table, base, function = sought.table, sought.base(), f"duskbook_seek_{sought.table}"
    gone = f"DELETE FROM {TABLE} WHERE id = {base} + OLD.id; RETURN NULL;"
    leaves = "TG_OP <> 'INSERT'" if sought.is_final else "TG_OP = 'DELETE'"
    body = (
        f"CREATE OR REPLACE FUNCTION {function}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        f"IF {leaves} THEN {gone} END IF; "
        f"INSERT INTO {TABLE}(id, words) SELECT {base} + NEW.id, "
        f"{words_sql(sought, 'NEW', 'postgresql')} "
        "ON CONFLICT (id) DO UPDATE SET words = EXCLUDED.words; RETURN NULL; END $$"
    )
    watched = "UPDATE" if sought.is_final else f"UPDATE OF {', '.join(watched_columns(sought))}"
    emptied = (
        f"CREATE OR REPLACE FUNCTION {function}_emptied() RETURNS trigger LANGUAGE plpgsql AS $$ "
        f"BEGIN DELETE FROM {TABLE} WHERE {of_kind(sought, 'id')}; RETURN NULL; END $$"
    )
    made = {
        f"{table}_sought": [
            body,
            (
                f"CREATE OR REPLACE TRIGGER {table}_sought AFTER INSERT OR {watched} OR DELETE "
                f"ON {table} FOR EACH ROW EXECUTE FUNCTION {function}()"
            ),
        ],
        f"{table}_sought_emptied": [
            emptied,
            (
                f"CREATE OR REPLACE TRIGGER {table}_sought_emptied AFTER TRUNCATE ON {table} "
                f"FOR EACH STATEMENT EXECUTE FUNCTION {function}_emptied()"
            ),
        ],
    }
    if sought.product:
        again = (
            f"CREATE OR REPLACE FUNCTION {function}_product() RETURNS trigger LANGUAGE plpgsql "
            f"AS $$ BEGIN UPDATE {TABLE} SET words = {words_sql(sought, 'one', 'postgresql')} "
            f"FROM {table} one WHERE {TABLE}.id = {base} + one.id AND one.product_id = NEW.id; "
            "RETURN NULL; END $$"
        )
        made[f"{PRODUCTS}_sought"] = [
            again,
            (
                f"CREATE OR REPLACE TRIGGER {PRODUCTS}_sought AFTER UPDATE OF "
                f"{', '.join(OF_PRODUCT)} ON {PRODUCTS} FOR EACH ROW "
                f"EXECUTE FUNCTION {function}_product()"
            ),
        ]
    return made


def of_kind(sought: Sought, column: str) -> str:
    """Return the SQL that picks the rows of a kind."""
    return f"{column} >= {sought.base()} AND {column} < {sought.base() + OF_A_KIND}"


def table_statements(vendor: str) -> list[str]:
    """Return the SQL that makes the table of words where it is not there yet."""
    if vendor == "sqlite":
        return [
            (
                f"CREATE VIRTUAL TABLE IF NOT EXISTS {TABLE} USING fts5(words, detail='none', "
                "columnsize=0, prefix='2 3 4', tokenize=\"unicode61 remove_diacritics 2\")"
            )
        ]
    return [
        WORDS_IN_POSTGRESQL,
        f"CREATE TABLE IF NOT EXISTS {TABLE} (id bigint PRIMARY KEY, words tsvector NOT NULL)",
        *(
            f"CREATE INDEX IF NOT EXISTS {TABLE}_{each.number} ON {TABLE} USING gin (words) "
            f"WHERE {of_kind(each, 'id')}"
            for each in ALL
        ),
    ]


def rebuild_statements(sought: Sought, vendor: str) -> list[str]:
    """Return the SQL that writes the words of a kind anew."""
    number = "rowid" if vendor == "sqlite" else "id"
    kept = (
        "NOT EXISTS (SELECT 1 FROM treatments_disposal WHERE record_id = one.id)"
        if sought.is_final
        else "1 = 1"
    )
    return [
        f"DELETE FROM {TABLE} WHERE {of_kind(sought, number)}",
        (
            f"INSERT INTO {TABLE}({number}, words) SELECT {sought.base()} + one.id, "
            f"{words_sql(sought, 'one', vendor)} FROM {sought.table} one WHERE {kept}"
        ),
    ]
