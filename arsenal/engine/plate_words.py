"""What another layout does to a ball, in words: every number from the figures beside them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from physics import surface

Figures = Mapping[str, Any]

# Differences smaller than these aren't worth a word: inches of place, of differential, of flare,
# boards at the pins, degrees of entry and feet of hook.
PLACE_IN, DIFFERENTIAL_IN, FLARE_IN = 0.06, 0.0005, 0.1
BOARDS, ANGLE_DEG, HOOK_FT = 0.05, 0.05, 0.1


def where_words(now: Figures) -> str:
    """Where the pin is, and on which side of the fingers."""
    layout = now["layout"]
    up = layout["pin_up_in"]
    said = f"The pin lies {layout['pin_over_in']:.2f} in over and {abs(up):.2f} in "
    said += "up" if up >= 0 else "down"
    above = now["pin_above_fingers_in"]
    if above is None:
        return f"{_minus(said)} from the grip centre."
    side = "above the finger line: pin up" if above >= 0 else "below the finger line: pin down"
    return f"{_minus(said)}, {abs(above):.2f} in {side}."


def change_words(
    before: Figures,
    now: Figures,
    throw: Mapping[str, Any] | None,
    path: Mapping[str, Any] | None,
) -> list[str]:
    """What the new layout did, why, and how much that is; empty where nothing moved."""
    core, cut = _moved(before, now), _cut_words(before, now)
    if not core and not cut:
        return []
    said = [_moved_words(before, now)] if core else []
    said += [cut, _why_words(before, now), _flare_words(before, now)]
    if throw is not None and path is not None:
        said += [_path_words(throw, path), _beside_finish(throw, path)]
    return [sentence for sentence in said if sentence]


def _moved(before: Figures, now: Figures) -> bool:
    places = ("pin_over_in", "pin_up_in", "psa_over_in", "psa_up_in")
    return any(
        abs(before["layout"][name] - now["layout"][name]) > 1e-3
        for name in (*places, "pin_to_pap_in")
    )


def _moved_words(before: Figures, now: Figures) -> str:
    """The mechanism: the core turned under the grip, so the holes are elsewhere in it."""
    pairs = [
        (hole["name"], was["to_pin_in"], hole["to_pin_in"])
        for was, hole in zip(before["holes"], now["holes"], strict=True)
        if abs(was["to_pin_in"] - hole["to_pin_in"]) >= PLACE_IN
    ]
    first = "The grip stays where it is and the core turns under it: the holes move in the core."
    if not pairs:
        return first
    parts = [
        f"{'the ' if not k else ''}{name} hole {is_in:.1f} in from the pin (was {was_in:.1f})"
        for k, (name, was_in, is_in) in enumerate(pairs)
    ]
    return f"{first} Now {_joined(parts)}."


def _cut_words(before: Figures, now: Figures) -> str:
    """Which holes are cut otherwise in the grip; empty where none is."""
    pairs = zip(before["holes"], now["holes"], strict=True)
    names = [is_now["name"] for was, is_now in pairs if was["cut"] != is_now["cut"]]
    if not names:
        return ""
    holes = "holes are" if names[1:] else "hole is"
    return f"In the grip itself the {_joined(names)} {holes} cut otherwise."


def _why_words(before: Figures, now: Figures) -> str:
    was, is_now = before["differential_in"], now["differential_in"]
    if abs(is_now - was) < DIFFERENTIAL_IN:
        return (
            "What is drilled out near the pin lowers the differential and what is drilled out a "
            f"quarter round from it raises it; here that evens out, at {is_now:.3f} in."
        )
    way = "falls" if is_now < was else "rises"
    return (
        "What is drilled out near the pin lowers the differential and what is drilled out a "
        f"quarter round from it raises it: it {way} from {was:.3f} to {is_now:.3f} in, the "
        f"intermediate one goes from {before['intermediate_differential_in']:.3f} to "
        f"{now['intermediate_differential_in']:.3f}."
    )


def _flare_words(before: Figures, now: Figures) -> str:
    if before["flare_in"] is None or now["flare_in"] is None:
        return ""
    moved = now["flare_in"] - before["flare_in"]
    if abs(moved) < FLARE_IN:
        return f"Flare stays about {now['flare_in']:.1f} in."
    way = "less" if moved < 0 else "more"
    return f"It flares {way}: about {now['flare_in']:.1f} in for {before['flare_in']:.1f}."


def _path_words(throw: Mapping[str, Any], path: Mapping[str, Any]) -> str:
    was = throw["path"]
    if path["board"] is None or was["board"] is None:
        return (
            f"On {throw['condition']}, along the same line, it doesn’t reach the pins on the lane."
        )
    boards = path["board"] - was["board"]
    parts = []
    if abs(boards) < BOARDS:
        parts.append("it meets the pins where it did")
    else:
        way = "more" if boards > 0 else "less"
        parts.append(f"it hooks {abs(boards):.1f} boards {way} at the pins")
    angle = path["angle_deg"] - was["angle_deg"]
    if abs(angle) >= ANGLE_DEG:
        parts.append(f"comes in {abs(angle):.1f}° {'steeper' if angle > 0 else 'flatter'}")
    if path["hook_ft"] is not None and was["hook_ft"] is not None:
        hook = path["hook_ft"] - was["hook_ft"]
        if abs(hook) >= HOOK_FT:
            way = "longer, so rollier" if hook > 0 else "shorter, so more angular"
            parts.append(f"its hook is {abs(hook):.1f} ft {way}")
    return f"On {throw['condition']}, thrown alike along one line, {_joined(parts)}."


def _beside_finish(throw: Mapping[str, Any], path: Mapping[str, Any]) -> str:
    """How much that is against the finishes tried on the same ball and line."""
    finishes = sorted(throw["finishes"], key=lambda row: abs(row["boards"]))
    if not finishes or path["board"] is None or throw["path"]["board"] is None:
        return ""
    boards = abs(path["board"] - throw["path"]["board"])
    least, most = finishes[0], finishes[-1]
    shown = (
        f"a change of finish on the ball as it is moves it {abs(least['boards']):.1f} boards "
        f"({_finish(least)}) to {abs(most['boards']):.1f} ({_finish(most)})"
    )
    if boards < abs(least["boards"]):
        return f"That is less than any finish would do: {shown}."
    if boards > abs(most["boards"]):
        return f"That is more than any finish would do: {shown}."
    near = min(finishes, key=lambda row: abs(abs(row["boards"]) - boards))
    return f"That is about what {_finish(near)} would do: {shown}."


def _finish(row: Mapping[str, Any]) -> str:
    return surface.FINISHES[row["finish"]].label.lower()


def _joined(parts: list[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def _minus(text: str) -> str:
    return text.replace("-", "−")
