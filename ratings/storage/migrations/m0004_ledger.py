"""Step 4: a chain of hashes over the rows that are only ever added to, in each of the two files."""

import sqlalchemy as sa

from ratings.storage.ledger import CHAINED, chain_new_rows


def apply(connection: sa.Connection) -> None:
    """Create the chains and put the rows that are there into them."""
    for file in CHAINED:
        statements = (
            f"""CREATE TABLE {file}.ledger (
                number INTEGER PRIMARY KEY,
                table_name TEXT NOT NULL,
                row_id INTEGER NOT NULL,
                digest TEXT NOT NULL)""",
            f"CREATE UNIQUE INDEX {file}.ledger_by_row ON ledger (table_name, row_id)",
            *(
                f"CREATE TRIGGER {file}.ledger_refuses_{act.lower()} BEFORE {act} ON ledger "
                "BEGIN SELECT RAISE(ABORT, 'ledger is append-only'); END"
                for act in ("UPDATE", "DELETE")
            ),
        )
        for statement in statements:
            connection.execute(sa.text(statement))
    chain_new_rows(connection, before={})
