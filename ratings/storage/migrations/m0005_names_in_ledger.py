"""Step 5: sets, conditions, attributes, clips and evaluators go into the chains as well."""

import sqlalchemy as sa

from ratings.storage.ledger import CHAINED, chain_new_rows, last_rows


def apply(connection: sa.Connection) -> None:
    """Give entries to the tables that have none: what a row is called counts like the row."""
    before = last_rows(connection)
    for file in CHAINED:
        chained = connection.exec_driver_sql(f"SELECT DISTINCT table_name FROM {file}.ledger")
        waiting = set(CHAINED[file]) - set(chained.scalars())
        before |= {(file, table): 0 for table in waiting}
    chain_new_rows(connection, before)
