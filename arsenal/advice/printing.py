"""A ranking for the command line: the JSON other programs read, and a table for people."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping
from typing import Any

from arsenal.advice import words
from bowlers.models import Bowler

TASK_FIELDS = ("name", "weight", "window", "gap", "best_available")
OWNED_FIELDS = ("ball_id", "ball", "hook_length_ft", "late", "strength_boards", "carry")
CHOICE_FIELDS = (
    "rank",
    "kind",
    "ball",
    "layout",
    "surface",
    "gain",
    "certainty",
    "cost",
    "family",
    "reason",
)
ADDED_FIELDS = ("work", "gain_interval", "gain_middle", "beats_next", "too_close")
WIDTH = 96


def customers(bowlers: Iterable[Bowler]) -> list[dict[str, Any]]:
    return [
        {"id": bowler.pk, "name": bowler.name, "shop": bowler.shop.name, "hand": bowler.hand}
        for bowler in bowlers
    ]


def contract(result: Mapping[str, Any], limit: int | None) -> dict[str, Any]:
    """The stored result cut down to the fields that are promised to other programs."""
    return {
        "customer": result["customer"],
        "model_version": result["model_version"],
        "seed": result["seed"],
        # What the first version counted in, it didn't say.
        **{name: result[name] for name in ("gain_unit", "game") if name in result},
        "tasks": [
            {
                **_only(task, TASK_FIELDS),
                **({"spares": task["spares"]} if "spares" in task else {}),
                "owned": [_only(ball, OWNED_FIELDS) for ball in task["owned"]],
            }
            for task in result["tasks"]
        ],
        "choices": [_choice(choice) for choice in result["choices"][:limit]],
        "excluded": [_only(item, ("what", "why")) for item in result["excluded"]],
        # Rankings stored before it was asked how sure they are don't say so.
        **({"doubt": dict(result["doubt"])} if "doubt" in result else {}),
    }


def _choice(choice: Mapping[str, Any]) -> dict[str, Any]:
    """A choice's promised fields; care also says what is to be done, and newer rankings how far
    the gain may lie off."""
    return _only(choice, (*CHOICE_FIELDS, *(field for field in ADDED_FIELDS if field in choice)))


def customer_table(rows: list[dict[str, Any]]) -> str:
    if not rows:
        return "There are no customers yet."
    width = max(len(row["name"]) for row in rows)
    lines = [f"{'id':>5}  {'name':<{width}}  hand   shop"]
    lines += [
        f"{row['id']:>5}  {row['name']:<{width}}  {row['hand']:<5}  {row['shop']}" for row in rows
    ]
    return "\n".join(lines)


def ranking_table(answer: Mapping[str, Any]) -> str:
    customer = answer["customer"]
    return "\n".join(
        [
            f"{customer['name']} (customer {customer['id']}), model {answer['model_version']}, "
            f"seed {answer['seed']}",
            "",
            *_tasks(answer["tasks"]),
            *_game(answer.get("game")),
            "",
            *_choices(answer["choices"], words.gain_unit(answer)),
            *_doubt(answer.get("doubt")),
            *_certified(answer["choices"]),
            f"Ruled out: {len(answer['excluded'])}. --json says what and why.",
            "Strike chances and gains are estimates.",
        ]
    )


def _tasks(tasks: list[dict[str, Any]]) -> Iterable[str]:
    width = max((len(task["name"]) for task in tasks), default=4)
    yield f"{'condition':<{width}}  best  owned  window, ft of hook"
    for task in tasks:
        owned = max((ball["carry"] for ball in task["owned"]), default=0.0)
        window = " and ".join(words.feet(part) for part in task["window"] or []) or "none"
        gap = "  GAP" if task["gap"] else ""
        best = f"{100 * task['best_available']:>2.0f} %  {100 * owned:>3.0f} %"
        yield f"{task['name']:<{width}}  {best}  {window}{gap}"


def _game(game: Mapping[str, Any] | None) -> Iterable[str]:
    """The score expected with the bag as it is, beside the average known."""
    if game is not None:
        yield words.game_words(game)


def _choices(choices: list[dict[str, Any]], unit: words.GainUnit) -> Iterable[str]:
    for choice in choices:
        what = [words.kind_words(choice["kind"]), choice["ball"]]
        # Care leaves layout and finish alone: what is to be done says more.
        done = [words.layout_words(choice["layout"]), choice["surface"]]
        what += [choice["work"]] if "work" in choice else done
        cost = choice["cost"]
        price = f"{cost['amount']:,.0f} {cost['currency']}" if cost["amount"] else "no cost"
        yield f"{choice['rank']:>3}. {' · '.join(part for part in what if part)}"
        certainty = words.certainty_percent(choice["certainty"])
        sure = "" if choice["kind"] == "none" else f", {certainty} sure to gain"
        alike = f", {len(choice['family'])} as good" if choice["family"] else ""
        gain = f"{unit.scale * choice['gain']:+.1f} {unit.words}"
        yield f"     {gain}{sure}, {price}{alike}"
        yield from textwrap.wrap(
            choice["reason"], WIDTH, initial_indent="     ", subsequent_indent="     "
        )
        yield ""


def _certified(choices: list[dict[str, Any]]) -> Iterable[str]:
    if any(choice["kind"] in words.ALTERS_SURFACE for choice in choices):
        yield words.NOT_IN_PLAY


def _doubt(doubt: Mapping[str, Any] | None) -> Iterable[str]:
    if doubt is None:
        return
    said = [doubt["words"], *(f"- {item['words']}" for item in doubt["would_settle"])]
    for sentence in said:
        yield from textwrap.wrap(sentence, WIDTH, subsequent_indent="  ")
    yield ""


def _only(record: Mapping[str, Any], fields: tuple[str, ...]) -> dict[str, Any]:
    return {field: record[field] for field in fields}
