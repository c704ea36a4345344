"""The steps shown on a customer's page, in order; other apps add theirs when they start.

A step says what is known of the customer and where to do it. This app knows the fitting; whoever
keeps balls, conditions and advice registers theirs in ``AppConfig.ready``, so that people don't
have to know about balls.
"""

from collections.abc import Callable
from dataclasses import dataclass

from bowlers.models import Bowler


@dataclass(frozen=True)
class Step:
    """One step for one customer."""

    title: str
    done: bool
    said: str
    """What is known (when done) or what is missing, in a sentence."""
    href: str
    action: str
    """What the link does: "Log a fitting"."""


StepMaker = Callable[[Bowler], Step]

_makers: dict[str, tuple[int, StepMaker]] = {}


def register(name: str, position: int, maker: StepMaker) -> None:
    """Add a step, or replace the one of the same name; steps are shown by position."""
    _makers[name] = (position, maker)


def unregister(name: str) -> None:
    _makers.pop(name, None)


def steps(bowler: Bowler) -> list[Step]:
    return [maker(bowler) for _, maker in sorted(_makers.values(), key=lambda item: item[0])]


@dataclass(frozen=True)
class Link:
    """Something that can be done with a customer's grip on another app's page."""

    words: str
    href: str


LinkMaker = Callable[[Bowler], list[Link]]

_link_makers: dict[str, LinkMaker] = {}


def register_grip_links(name: str, maker: LinkMaker) -> None:
    """Add links to the pages of a customer's grip, or replace those of the same name."""
    _link_makers[name] = maker


def grip_links(bowler: Bowler) -> list[Link]:
    return [link for maker in _link_makers.values() for link in maker(bowler)]
