"""Databases of a test's own, with the suite's tables: to migrate takes longer than most tests.

Copied outside of a transaction (so for ``transactional_db``, not for ``db``): within one SQLite
would wait for its end.
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
from psycopg.rows import TupleRow


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
    where, name = connection.settings_dict, f"own_{uuid.uuid4().hex}"
    with _server() as server:
        template = "template1" if empty else _template()
        server.execute(f'CREATE DATABASE "{name}" TEMPLATE "{template}"')
        try:
            password = f":{quote(where['PASSWORD'])}" if where["PASSWORD"] else ""
            who = f"{quote(where['USER'])}{password}"
            yield f"postgres://{who}@{where['HOST']}:{where['PORT']}/{name}"
        finally:
            server.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


@contextmanager
def template_kept() -> Iterator[None]:
    """While the suite runs PostgreSQL keeps its tables in a database that nobody is connected to:
    of another, as that which the tests are on, it makes no copies."""
    if connection.vendor == "sqlite":
        yield
        return
    connection.close()
    with _server() as server:
        server.execute(f'DROP DATABASE IF EXISTS "{_template()}"')
        server.execute(
            f'CREATE DATABASE "{_template()}" TEMPLATE "{connection.settings_dict["NAME"]}"'
        )
    try:
        yield
    finally:
        with _server() as server:
            server.execute(f'DROP DATABASE "{_template()}" WITH (FORCE)')


def _template() -> str:
    return f"{connection.settings_dict['NAME']}_tables"


def _server() -> psycopg.Connection[TupleRow]:
    where = connection.settings_dict
    known = {"host": where["HOST"], "port": where["PORT"], "user": where["USER"]}
    known |= {"password": where["PASSWORD"]}
    given = {name: value for name, value in known.items() if value}
    return psycopg.connect(dbname="postgres", autocommit=True, **given)
