"""Configuration of a web server whose SQLite database may not grow beyond the pages a file names.

SQLite itself then answers as it does on a full disk (SQLITE_FULL); see PRAGMA max_page_count in its
documentation. Without the file there is room.
"""

import os
from pathlib import Path
from typing import Any


def post_worker_init(worker: Any) -> None:
    from django.db.backends.signals import connection_created

    connection_created.connect(_limit, weak=False)


def _limit(connection: Any, **named: Any) -> None:
    limit = Path(os.environ["MOST_PAGES"])
    if limit.exists():
        with connection.cursor() as cursor:
            cursor.execute(f"PRAGMA max_page_count = {int(limit.read_text())}")
