"""What to do on the lanes, in words for whoever stands on the approach.

Numbers are the engine's (``engine.on_the_lanes``); nothing here decides anything. Working on the
ball's surface is never among them: during certified play it may not be altered.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

# Away from the ball-hand gutter, towards it.
SIDES = {"right": ("left", "right"), "left": ("right", "left")}
READS = {
    "early": "If it reads early",
    "late": "If it reads late",
    "both": "If it does both",
}
LOOKS_LIKE = {
    "early": "it hooks too soon, comes in high or rolls out",
    "late": "it slides on, comes in light or doesn’t get there",
    "both": "a little outside it hangs, a little inside it jumps",
}


def line_words(line: Mapping[str, float]) -> str:
    return (
        f"Lay it down at board {line['laydown_board']:.0f} and send it over board "
        f"{line['arrow_board']:.0f} at the arrows."
    )


def then_words(then: Mapping[str, Any], hand: str) -> list[str]:
    """Steps in the order they are tried: move, or pace, then another ball."""
    steps = []
    feet, eyes = then["feet"], then["eyes"]
    if feet is None:
        steps.append("No line is left for this ball.")
    elif feet or eyes:
        steps.append(_move(feet, eyes, hand))
    else:
        steps.append("Stay on your line: moving gains next to nothing.")
    if then["pace_mph"]:
        faster = "faster" if then["pace_mph"] > 0 else "slower"
        steps.append(f"Or stay, and throw it about a mile an hour {faster}.")
    if then["change"]:
        steps.append(f"Better still: change to {_with_line(then['change'])}")
    return steps


def both_words(both: Mapping[str, Any]) -> list[str]:
    if both["change"]:
        return [f"Change to {_with_line(both['change'])} It minds least."]
    return ["Stay with it: no other ball of yours minds less. Choose the line that misses safely."]


def night_lines(plan: Mapping[str, Any]) -> list[str]:
    """A plan for a night (``engine.night_plan``), a line for each game."""
    return [_game(game) for game in plan["games"]]


def night_closing(plan: Mapping[str, Any]) -> str:
    first = plan["games"][0]["ball"]
    if not any(game["changed"] for game in plan["games"]):
        return "One ball does for the night (estimate). Trust what you see more."
    planned, same = (round(100 * plan[name]) for name in ("planned", "same_ball"))
    return (
        f"About {planned} strikes in a hundred first balls, against {same} with {first} throughout "
        "(estimates). Trust what you see more."
    )


def sides_heading(found: Mapping[str, Any]) -> str:
    one, other = (shot["label"] for shot in found["shots"])
    return f"{other} beside {one}, on {found['condition']}"


def sides_lines(found: Mapping[str, Any]) -> list[str]:
    """Two balls side by side (``engine.side_by_side``): what differs, and where each is thrown."""
    told = list(found["said"]) or ["Nothing you would notice lies between them."]
    throws = zip(found["shots"], found["lines"], strict=True)
    return told + [f"{shot['label']}: thrown {_from(line)}." for shot, line in throws]


def _game(game: Mapping[str, Any]) -> str:
    does = "change to" if game["changed"] else "start with" if game["game"] == 1 else "stay with"
    told = f"Game {game['game']}, lanes {game['state']}: {does} {game['ball']}"
    return f"{told}, {_from(game['line'])}." if game["line"] else f"{told}."


def _from(line: Mapping[str, float]) -> str:
    return f"from board {line['laydown_board']:.0f} over {line['arrow_board']:.0f}"


def _move(feet: int, eyes: int, hand: str) -> str:
    parts = [f"{_boards(feet, hand)} with your feet"] if feet else []
    if eyes:
        parts.append(f"{_boards(eyes, hand)} with your eyes")
    told = " and ".join(parts)
    if not eyes:
        told += ", same target"
    return f"Move {told}."


def _boards(count: int, hand: str) -> str:
    away, towards = SIDES[hand]
    side = away if count > 0 else towards
    return f"{abs(count)} board{'' if abs(count) == 1 else 's'} {side}"


def _with_line(ball: Mapping[str, Any]) -> str:
    line = ball["line"]
    if line is None:
        return f"{ball['ball']}."
    return f"{ball['ball']}, {_from(line)}."
