"""Pieces kept in memory."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field


@dataclass
class Drawer:
    """A store in memory."""

    pieces: dict[str, bytes] = field(default_factory=dict)

    def fetch(self, keys: Sequence[str]) -> dict[str, bytes]:
        return {key: self.pieces[key] for key in keys if key in self.pieces}

    def keep(self, pieces: Mapping[str, bytes]) -> None:
        self.pieces |= pieces
