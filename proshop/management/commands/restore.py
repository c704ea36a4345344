"""``manage.py restore``: put a backup in place of the database, or hold one against it."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from proshop.backup import archive


class Command(BaseCommand):
    help = "Restore a backup into this database, whichever kind it was made from. All or nothing."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument(
            "--replace", action="store_true", help="also if the database holds a shop already"
        )
        parser.add_argument(
            "--compare", action="store_true", help="change nothing: say whether every row is alike"
        )

    def handle(self, *args: Any, file: Path, replace: bool, compare: bool, **options: Any) -> None:
        try:
            if compare:
                contents = archive.check(file)
                unlike = archive.compare(contents)
                if unlike:
                    raise CommandError("\n".join(map(str, unlike)))
            else:
                contents = archive.restore(file, replace=replace)
        except archive.Refused as trouble:
            raise CommandError(str(trouble)) from None
        rows = sum(table["rows"] for table in contents["tables"].values())
        did = "The database is" if compare else "Restored and compared:"
        self.stdout.write(
            f"{did} row for row the backup of {contents['made_at']}, {rows} rows. "
            "Everybody signs in again."
        )
