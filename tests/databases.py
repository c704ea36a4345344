"""Databases of a test's own, with the suite's tables: to migrate takes longer than most tests.

Copied outside of a transaction (so for ``transactional_db``, not for ``db``): within one SQLite
would wait for its end, and PostgreSQL copies nothing that is in use.
"""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import uuid
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from urllib.parse import quote

import psycopg
from django.conf import settings
from django.db import connection


def sqlite_file(file: Path) -> str:
    """Make a SQLite file with all tables, whatever the tests run on. Its address."""
    address = f"sqlite:///{file}"
    if connection.vendor == "sqlite":
        connection.ensure_connection()
        with closing(sqlite3.connect(file)) as copy:
            connection.connection.backup(copy)
    else:
        command = [sys.executable, str(settings.BASE_DIR / "manage.py"), "migrate", "--verbosity=0"]
        subprocess.run(command, env={**os.environ, "DATABASE_URL": address}, check=True)
    return address


@contextmanager
def own_database(folder: Path, *, empty: bool = False) -> Iterator[str]:
    """The address of a database of the kind that the tests run on, gone afterwards; with all
    tables, unless it is to be ``empty``."""
    if connection.vendor == "sqlite":
        file = folder / "own.sqlite3"
        yield f"sqlite:///{file}" if empty else sqlite_file(file)
        return
    given, name = connection.settings_dict, f"own_{uuid.uuid4().hex}"
    known = {"host": given["HOST"], "port": given["PORT"], "user": given["USER"]}
    known |= {"password": given["PASSWORD"]}
    template = "template1" if empty else given["NAME"]
    # A database somebody is connected to can't be copied.
    connection.close()
    with psycopg.connect(
        dbname="postgres", autocommit=True, **{k: v for k, v in known.items() if v}
    ) as server:
        server.execute(f'CREATE DATABASE "{name}" TEMPLATE "{template}"')
        try:
            password = f":{quote(given['PASSWORD'])}" if given["PASSWORD"] else ""
            who = f"{quote(given['USER'])}{password}"
            yield f"postgres://{who}@{given['HOST']}:{given['PORT']}/{name}"
        finally:
            server.execute(f'DROP DATABASE "{name}" WITH (FORCE)')
