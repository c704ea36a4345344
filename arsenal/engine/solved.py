"""The costly functions of ``physics.menu``, ``worth`` and ``bag``, looked up before computed.

Every number they give belongs to one ball on one condition and depends on the release, the oil, the
ball's body and surface, and what the stage is told; nothing else. So each is kept under a hash of
exactly that, and a change computes anew what it touches: another finish, the cells of one ball;
another oil, those of one condition; another fitting, all of a customer's. Prices, names, how often
a condition is met, and balls added or gone touch nothing that is kept; but of the whole menu, where
options are read between new balls, another new ball touches all. Kept numbers are the very ones
that were computed, so an answer is the same to the last digit with them and without.
"""

from __future__ import annotations

import hashlib
import math
import struct
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from physics import bag, menu, shape, spares, worlds, worth
from physics.bowler import Bowler
from physics.compiled import hash_of_sources
from physics.worth import Lines, Option, Task

Array = NDArray[np.float64]
Compute = Callable[[list[int], list[int]], Array]

# Bytes of a cell's hash; two cells of a piece meet by chance once in 2 to the 64.
DIGEST = 16
# A piece holds at most so many cells; beyond, those this ranking didn't ask for are dropped.
MOST_CELLS = 20_000


# Processor seconds a cell takes to compute, by stage (measured roughly; a wrong one makes somebody
# wait a little, or sends a short ranking to a worker).
TAKES_S = {
    "menu": 0.0003,
    "settle": 0.0005,
    "seek": 0.005,
    "spares": 0.003,
    "confirm": 0.03,
    "first": 0.002,
    "draws": 0.1,
}


class TooMuch(Exception):
    """More would have to be computed than the caller has time for."""


class Store(Protocol):
    """Where pieces are kept: see :mod:`arsenal.kept.store`."""

    def fetch(self, keys: Sequence[str]) -> dict[str, bytes]: ...

    def keep(self, pieces: Mapping[str, bytes]) -> None: ...


class Nowhere:
    """Keeps nothing."""

    def fetch(self, keys: Sequence[str]) -> dict[str, bytes]:
        return {}

    def keep(self, pieces: Mapping[str, bytes]) -> None:
        return None


@cache
def code_hash() -> bytes:
    """Hash of the numeric package itself: other code never finds what this one kept."""
    return hash_of_sources(".py", ".npz")


def floats(*values: float) -> bytes:
    """Numbers as they are compared: to the last bit."""
    return struct.pack(f"{len(values)}d", *values)


def of_option(option: Option) -> bytes:
    """Everything of an option that moves its ball, in any world."""
    body = option.body
    said = "\0".join((option.cover, option.finish, option.ball)).encode()
    numbers = floats(
        body.mass_kg,
        body.radius_m,
        *body.principal_rg_m,
        *np.ravel(body.principal_axes),
        *body.pap_body,
        *option.closure.numbers(),
        *option.worn,
    )
    return hashlib.blake2b(numbers + said, digest_size=DIGEST).digest()


def of_lane(task: Task, factor: float) -> bytes:
    return hashlib.sha256(np.ascontiguousarray(task.film_um).tobytes() + floats(factor)).digest()


def of_bowler(who: Bowler) -> bytes:
    return floats(*who.means(), *who.spreads())


@dataclass
class Counts:
    """How many cells were asked for, and how many had to be computed, by stage."""

    asked: dict[str, int] = field(default_factory=dict)
    computed: dict[str, int] = field(default_factory=dict)


class Solved:
    """The stages of a ranking, from the store where they are kept."""

    def __init__(self, store: Store | None = None, at_most_s: float | None = None) -> None:
        self.store: Store = store or Nowhere()
        self.counts = Counts()
        self.left_s = math.inf if at_most_s is None else at_most_s

    def begin(self, who: Bowler, tasks: Sequence[Task], factors: Sequence[float]) -> None:
        """Refuse early: without time for it, only where every condition was ranked before."""
        keys = self._marks(who, tasks, factors)
        if self.left_s < math.inf and len(self.store.fetch(keys)) < len(set(keys)):
            raise TooMuch

    def end(self, who: Bowler, tasks: Sequence[Task], factors: Sequence[float]) -> None:
        """Everything about these conditions is kept now."""
        self.store.keep(dict.fromkeys(self._marks(who, tasks, factors), b"ranked"))

    def _marks(self, who: Bowler, tasks: Sequence[Task], factors: Sequence[float]) -> list[str]:
        lanes = [of_lane(task, factor) for task, factor in zip(tasks, factors, strict=True)]
        return [_key("ranked", of_bowler(who), lane) for lane in lanes]

    def share_known(self) -> float:
        """Share of the cells asked for so far that was known before."""
        asked = sum(self.counts.asked.values())
        return 1 - sum(self.counts.computed.values()) / asked if asked else 0.0

    def seek(
        self,
        who: Bowler,
        options: Sequence[Option],
        tasks: Sequence[Task],
        factors: Sequence[float],
        *,
        near: Lines | None = None,
        progress: worth.Progress | None = None,
        **search: int,
    ) -> Lines:
        """:func:`physics.worth.seek`."""

        def compute(rows: list[int], columns: list[int]) -> Array:
            found = worth.seek(
                who,
                [options[i] for i in rows],
                [tasks[j] for j in columns],
                lane_factors=[factors[j] for j in columns],
                near=None if near is None else _part(near, rows, columns),
                progress=progress,
                **search,
            )
            return np.stack([found.board, found.launch_deg, found.value], axis=-1)

        said = repr(sorted(search.items())).encode() + of_bowler(who)
        extra = None if near is None else near.board
        found = self._cells("seek", said, options, tasks, factors, extra, 3, compute)
        return Lines(found[..., 0], found[..., 1], found[..., 2])

    def menu(
        self,
        who: Bowler,
        every: worth.Rows,
        groups: Sequence[int],
        tasks: Sequence[Task],
        factors: Sequence[float],
        *,
        progress: worth.Progress | None = None,
    ) -> Lines:
        """:func:`physics.menu.answer`, group by group of the options.

        The largest group is answered by itself and the others between what was solved of it, if
        it is large enough; so each is kept as a whole, under all that is in it and in the largest.
        The first option of a group is solved whatever it is worth.
        """
        members: dict[int, list[int]] = {}
        for i, name in enumerate(groups):
            members.setdefault(name, []).append(i)
        lanes = [of_lane(task, factor) for task, factor in zip(tasks, factors, strict=True)]
        said, asked = of_bowler(who), list[_Group]()
        for ours in sorted(members.values(), key=len, reverse=True):
            asked.append(_Group.of(every, ours, said, lanes))
            if len(asked[0].rows) > menu.NODES:
                said = asked[0].said
        fetched = self.store.fetch([key for group in asked for key in group.keys])
        out = np.empty((len(every), len(tasks), 3))
        for n, group in enumerate(asked):
            missing = group.unpack(fetched)
            self._count("menu", len(group.rows) * len(tasks), len(group.rows) * len(missing))
            if missing:

                def told(share: float, before: int = n) -> None:
                    if progress is not None:
                        progress((before + share) / len(asked))

                found = menu.answer_rows(
                    who,
                    group.rows,
                    [tasks[j] for j in missing],
                    lane_factors=[factors[j] for j in missing],
                    between=asked[0].nodes(missing) if n else (),
                    surely=[int(group.back[0])],
                    progress=told,
                )
                self.store.keep(group.pack(missing, found))
            out[group.members] = group.lines[group.back]
        return Lines(*(np.ascontiguousarray(out[..., k]) for k in range(3)))

    def _count(self, stage: str, asked: int, computed: int) -> None:
        """Raises :class:`TooMuch` where there is no time for what has to be computed."""
        self.left_s -= computed * TAKES_S[stage] / worth.cores()
        if self.left_s < 0:
            raise TooMuch
        counts = self.counts
        counts.asked[stage] = counts.asked.get(stage, 0) + asked
        counts.computed[stage] = counts.computed.get(stage, 0) + computed

    def settle(
        self,
        who: Bowler,
        options: Sequence[Option],
        tasks: Sequence[Task],
        near: Lines,
        factors: Sequence[float],
        *,
        progress: worth.Progress | None = None,
    ) -> Lines:
        """:func:`physics.menu.settled`."""

        def compute(rows: list[int], columns: list[int]) -> Array:
            found = menu.settled(
                who,
                [options[i] for i in rows],
                [tasks[j] for j in columns],
                _part(near, rows, columns),
                lane_factors=[factors[j] for j in columns],
                progress=progress,
            )
            return np.stack([found.board, found.launch_deg, found.value], axis=-1)

        said = of_bowler(who)
        found = self._cells("settle", said, options, tasks, factors, _line(near), 3, compute)
        return Lines(*(np.ascontiguousarray(found[..., k]) for k in range(3)))

    def second_balls(
        self,
        releases: Sequence[Bowler],
        options: Sequence[Option],
        tasks: Sequence[Task],
        factors: Sequence[float],
        surfaces: spares.SpareSurfaces,
    ) -> tuple[Array, Array]:
        """:func:`physics.bag.second_balls` of the maps of :func:`physics.bag.entry_maps`."""

        def compute(rows: list[int], columns: list[int]) -> Array:
            there = [tasks[j] for j in columns], [factors[j] for j in columns]
            maps = bag.entry_maps(releases, [options[i] for i in rows], *there)
            return np.concatenate(bag.second_balls(maps, surfaces), axis=-1)

        said = b"".join(of_bowler(one) + floats(*one.pap_shift_in) for one in releases)
        leaves = surfaces.convert.shape[-1]
        found = self._cells("spares", said, options, tasks, factors, None, 2 * leaves, compute)
        return np.ascontiguousarray(found[..., :leaves]), np.ascontiguousarray(found[..., leaves:])

    def confirm(
        self,
        who: Bowler,
        options: Sequence[Option],
        tasks: Sequence[Task],
        lines: Lines,
        factors: Sequence[float],
        *,
        seed: int,
        progress: worth.Progress | None = None,
    ) -> tuple[Array, Array]:
        """:func:`physics.worth.confirm`."""

        def compute(rows: list[int], columns: list[int]) -> Array:
            values, shots = worth.confirm(
                who,
                [options[i] for i in rows],
                [tasks[j] for j in columns],
                _part(lines, rows, columns),
                [factors[j] for j in columns],
                seed=seed,
                progress=progress,
            )
            return np.concatenate([values[..., None], shots], axis=-1)

        said, extra = str(seed).encode() + of_bowler(who), _line(lines)
        width = 1 + shape.RESULTS
        found = self._cells("confirm", said, options, tasks, factors, extra, width, compute)
        return np.ascontiguousarray(found[..., 0]), np.ascontiguousarray(found[..., 1:])

    def first_balls(
        self,
        who: Bowler,
        options: Sequence[Option],
        tasks: Sequence[Task],
        lines: Lines,
        factors: Sequence[float],
        *,
        seed: int,
        leaves: int,
    ) -> tuple[Array, Array]:
        """:func:`physics.bag.first_balls`; ``leaves``: how many have a name."""

        def compute(rows: list[int], columns: list[int]) -> Array:
            felled, left = bag.first_balls(
                who,
                [options[i] for i in rows],
                [tasks[j] for j in columns],
                _part(lines, rows, columns),
                [factors[j] for j in columns],
                seed=seed,
            )
            return np.concatenate([felled[..., None], left], axis=-1)

        said, extra = str(seed).encode() + of_bowler(who), _line(lines)
        found = self._cells("first", said, options, tasks, factors, extra, 1 + leaves, compute)
        return np.ascontiguousarray(found[..., 0]), np.ascontiguousarray(found[..., 1:])

    def draws(
        self,
        who: Bowler,
        options: Sequence[Option],
        tasks: Sequence[Task],
        lines: Lines,
        factors: Sequence[float],
        *,
        count: int,
        seed: int,
        progress: worth.Progress | None = None,
    ) -> worth.Drawn:
        """:func:`physics.worth.draws`. The worlds are made anew; what balls do in them is kept."""
        met = worlds.drawn(who, options, tasks, count=count, seed=seed)
        every = [*met.drawn, met.middle]
        said = hashlib.sha256(str(seed).encode() + met.normals.tobytes())
        for name in met.names:
            said.update("/".join(name).encode())
        for world in every:
            said.update(of_bowler(world.bowler) + floats(*world.pap_shift_in))
        lanes = []
        for j, factor in enumerate(factors):
            there = hashlib.sha256(floats(factor, *(world.lane[j] for world in every)))
            for world in every:
                there.update(np.ascontiguousarray(world.film_um[j]).tobytes())
            lanes.append(there.digest())

        def compute(rows: list[int], columns: list[int]) -> Array:
            pairs = [(i, j) for i in rows for j in columns]
            found = worth.in_worlds(
                met, options, tasks, lines, factors, pairs, seed=seed, progress=progress
            )
            return found.T.reshape(len(rows), len(columns), len(every))

        found = self._cells(
            "draws", said.digest(), options, tasks, factors, lines.board, len(every), compute, lanes
        )
        values = np.ascontiguousarray(np.moveaxis(found, -1, 0))
        return worth.Drawn(values[:-1], values[-1], met)

    def _cells(
        self,
        stage: str,
        said: bytes,
        options: Sequence[Option],
        tasks: Sequence[Task],
        factors: Sequence[float],
        extra: Array | None,
        width: int,
        compute: Compute,
        lanes: Sequence[bytes] | None = None,
    ) -> Array:
        """Cells (options x tasks x width), those that aren't kept computed and kept.

        A piece holds the cells of one task under one key: the code, the stage, what it was told and
        the lane. A cell's hash is the option's, with what is ``extra`` to the cell.
        """
        lanes = lanes or [of_lane(t, f) for t, f in zip(tasks, factors, strict=True)]
        keys = [_key(stage, said, lane) for lane in lanes]
        balls = [of_option(option) for option in options]
        names = [
            [_cell(ball, extra, i, j) for i, ball in enumerate(balls)] for j in range(len(keys))
        ]
        fetched = self.store.fetch(keys)
        pieces = [_Piece.unpacked(fetched.get(key), width) for key in keys]
        missing = [
            [i for i, name in enumerate(here) if name not in piece.places]
            for here, piece in zip(names, pieces, strict=True)
        ]
        computed = sum(len(rows) for rows in missing)
        self._count(stage, len(options) * len(keys), computed)
        for rows, columns in _rectangles(missing):
            found = compute(rows, columns)
            for place, j in enumerate(columns):
                pieces[j].add([names[j][i] for i in rows], found[:, place])
        self.store.keep(
            {keys[j]: pieces[j].packed(names[j]) for j, rows in enumerate(missing) if rows}
        )
        out = np.empty((len(options), len(keys), width))
        for j, piece in enumerate(pieces):
            out[:, j] = piece.rows(names[j])
        return out


def _key(stage: str, said: bytes, lane: bytes) -> str:
    return hashlib.sha256(b"\0".join((code_hash(), stage.encode(), said, lane))).hexdigest()


def _cell(ball: bytes, extra: Array | None, i: int, j: int) -> bytes:
    if extra is None:
        return ball
    told = np.ascontiguousarray(extra[i, j]).tobytes()
    return hashlib.blake2b(ball + told, digest_size=DIGEST).digest()


def _rectangles(missing: Sequence[list[int]]) -> list[tuple[list[int], list[int]]]:
    """What is missing, in few blocks of rows by columns."""
    blocks: dict[tuple[int, ...], list[int]] = {}
    for j, rows in enumerate(missing):
        if rows:
            blocks.setdefault(tuple(rows), []).append(j)
    return [(list(rows), columns) for rows, columns in blocks.items()]


@dataclass
class _Group:
    """Options of a menu that are kept together: their sorts, and the sort of each member. A piece
    for each task holds the sorts' lines (sorts x 3), then what others can be read between."""

    members: list[int]
    rows: worth.Rows
    back: NDArray[np.intp]
    said: bytes
    keys: list[str]
    lines: Array
    between: list[bytes]

    @classmethod
    def of(
        cls, every: worth.Rows, members: list[int], said: bytes, lanes: Sequence[bytes]
    ) -> _Group:
        rows, back = every.part(np.array(members)).sorts()
        digest = hashlib.sha256(said + floats(back[0]))
        digest.update(rows.bodies.tobytes() + rows.closures.tobytes())
        keys = [_key("menu", digest.digest(), lane) for lane in lanes]
        lines = np.empty((len(rows), len(lanes), 3))
        return cls(members, rows, back, digest.digest(), keys, lines, [b""] * len(lanes))

    def unpack(self, fetched: Mapping[str, bytes]) -> list[int]:
        """Take what is kept; the tasks that aren't."""
        size = 24 * len(self.rows)
        missing = []
        for j, key in enumerate(self.keys):
            piece = fetched.get(key, b"")
            if len(piece) < size or len(piece) % 8:
                missing.append(j)
                continue
            self.lines[:, j] = np.frombuffer(piece[:size]).reshape(-1, 3)
            self.between[j] = piece[size:]
        return missing

    def pack(self, columns: Sequence[int], found: menu.Answer) -> dict[str, bytes]:
        """Take what was found for these tasks; as it is stored."""
        lines = found.lines
        self.lines[:, columns] = np.stack([lines.board, lines.launch_deg, lines.value], axis=-1)
        for j, nodes in zip(columns, found.nodes, strict=False):
            self.between[j] = nodes.numbers().tobytes()
        return {self.keys[j]: self.lines[:, j].tobytes() + self.between[j] for j in columns}

    def nodes(self, columns: Sequence[int]) -> list[menu.Nodes]:
        """What others can be read between on these tasks; empty where there are too few."""
        kept = [self.between[j] for j in columns]
        return [menu.Nodes.of(np.frombuffer(one)) for one in kept if one]


@dataclass
class _Piece:
    """Cells of one task: where each is by its hash, and their numbers (cells x width)."""

    places: dict[bytes, int]
    numbers: Array

    @classmethod
    def unpacked(cls, piece: bytes | None, width: int) -> _Piece:
        """Hashes one after the other, then the numbers; empty where it is of another width."""
        size = DIGEST + 8 * width
        if not piece or len(piece) % size:
            return cls({}, np.empty((0, width)))
        count = len(piece) // size
        numbers = np.frombuffer(piece, np.float64, count * width, count * DIGEST)
        places = {piece[n * DIGEST : (n + 1) * DIGEST]: n for n in range(count)}
        return cls(places, numbers.reshape(count, width))

    def packed(self, asked: Sequence[bytes]) -> bytes:
        """As it is stored; what wasn't asked for is left out where it would be too much."""
        names = list(self.places) if len(self.places) <= MOST_CELLS else list(dict.fromkeys(asked))
        return b"".join(names) + self.rows(names).tobytes()

    def add(self, names: Sequence[bytes], numbers: Array) -> None:
        self.places |= {name: len(self.numbers) + n for n, name in enumerate(names)}
        self.numbers = np.concatenate([self.numbers, numbers])

    def rows(self, names: Sequence[bytes]) -> Array:
        return self.numbers[[self.places[name] for name in names]]


def _part(lines: Lines, rows: list[int], columns: list[int]) -> Lines:
    index = np.ix_(rows, columns)
    return Lines(lines.board[index], lines.launch_deg[index], lines.value[index])


def _line(lines: Lines) -> Array:
    return np.stack([lines.board, lines.launch_deg], axis=-1)
