"""What a long run writes down can be read again, and pieces of one add up."""

from __future__ import annotations

from pathlib import Path

from tests.long_runs import Run, keep, read


def test_pieces_of_a_run_add_up_and_whole_runs_stand_apart(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    piece = Run("make x", "SQLite", 5000, "cases", 0, 1.5, found="nothing broke")
    keep(piece, adds=True, page=page)
    keep(Run("make x", "SQLite", 4990, "cases", 1, 1.0, found="a | b"), adds=True, page=page)
    stands = keep(piece, adds=True, page=page)
    assert (stands.tried, stands.faults, stands.minutes) == (14_990, 1, 4.0)
    keep(Run("make x", "PostgreSQL", 1, "cases", 0, 0.0), adds=True, page=page)
    keep(Run("make x", "SQLite", 7, "files", 0, 0.0), adds=True, page=page)
    keep(Run("make y", "SQLite", 1, "cases", 0, 0.0, found="y"), page=page)
    keep(Run("make y", "SQLite", 2, "cases", 0, 0.0, found="y"), page=page)
    rows = read(page)
    assert [(row.command, row.database, row.tried) for row in rows] == [
        ("make x", "SQLite", 14_990),
        ("make x", "PostgreSQL", 1),
        ("make x", "SQLite", 7),
        ("make y", "SQLite", 1),
        ("make y", "SQLite", 2),
    ]
    # A fault isn't covered by the pieces that went well after it.
    assert rows[0].found == "nothing broke; a / b; nothing broke"
    assert rows[0].day
    assert rows[0].commit


def test_numbers_of_the_same_sentence_add_up(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    for saves in (999, 1001):
        found = f"{saves:,} saves, 0 lost"
        stands = keep(Run("x", "y", 1, "z", 0, 0.0, found=found), adds=True, page=page)
    assert stands.found == "2,000 saves, 0 lost"
