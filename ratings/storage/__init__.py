"""The study on disk: tables, numbered migrations, what each desk may read and write."""
