"""``manage.py backup``: all of the database and uploaded files in one file."""

import os
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from proshop.backup import archive

PATTERN = "hookwright-*.zip"


class Command(BaseCommand):
    help = "Write a backup while the site runs. It holds customers' records: keep it safe."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "file", nargs="?", type=Path, help="by default var/backups/hookwright-DATE-TIME.zip"
        )
        parser.add_argument(
            "--keep", type=int, help="delete the oldest of var/backups, keeping so many"
        )

    def handle(self, *args: Any, file: Path | None, keep: int | None, **options: Any) -> None:
        folder = settings.VAR_DIR / "backups"
        stamp = timezone.now().strftime("%Y%m%d-%H%M%S")
        path = file or folder / f"hookwright-{stamp}.zip"
        if "\0" in str(path):
            raise CommandError("A file's name has no NUL in it: give the file to write.")
        try:
            os.fsencode(path)
        except UnicodeEncodeError:
            raise CommandError("No file can have that name: give the file to write.") from None
        try:
            if not path.name or path.is_dir():
                raise CommandError(
                    f"{path} is a directory: give the file to write, as {path / stamp}.zip"
                )
            contents = archive.write(path)
            archive.check(path)
        except OSError as trouble:
            raise CommandError(f"{path} can't be written: {trouble}. Nothing was kept.") from None
        rows = sum(table["rows"] for table in contents["tables"].values())
        self.stdout.write(
            f"{path}: {rows} rows of {len(contents['tables'])} tables, {len(contents['files'])} "
            f"uploaded files, {path.stat().st_size} bytes, read back whole."
        )
        if keep is not None and file is None:
            for old in sorted(folder.glob(PATTERN))[: -max(keep, 1)]:
                old.unlink()
                self.stdout.write(f"{old}: deleted, {max(keep, 1)} are kept.")
