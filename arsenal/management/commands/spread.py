"""``manage.py spread``: what finishes move against what layouts move, over the demo's menu."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from arsenal import engine
from bowlers.models import Bowler


class Command(BaseCommand):
    help = "Compare what finishes and layouts do to entry and strike chance over the demo's menu."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--json", action="store_true", help="print JSON instead of a table")
        parser.add_argument("--customer", type=int, help="only this customer, of any shop")

    def handle(self, *args: Any, **options: Any) -> None:
        asked = self._questions(options["customer"])
        answer = {
            "model_version": engine.MODEL_VERSION,
            "customers": len(asked),
            "with_ring_oil": self._spread(asked, ring_oil=True),
            "without_ring_oil": self._spread(asked, ring_oil=False),
        }
        self.stdout.write(json.dumps(answer, indent=2) if options["json"] else _table(answer))

    def _questions(self, customer: int | None) -> list[dict[str, Any]]:
        """What can be asked of each customer whose record is whole."""
        bowlers = Bowler.objects.select_related("shop").order_by("pk")
        wanted = bowlers.filter(pk=customer) if customer else bowlers.filter(shop__is_demo=True)
        asked = []
        for bowler in wanted:
            try:
                asked.append(engine.inputs_for(bowler))
            except engine.Missing as incomplete:
                if customer:
                    raise CommandError(f"{bowler.name}: missing {incomplete}.") from None
        if not asked:
            raise CommandError(
                f"There is no customer {customer}. nextball --list shows who there is."
                if customer
                else "There is no demo to compare over. Load it with: python manage.py demo"
            )
        return asked

    def _spread(self, asked: list[dict[str, Any]], *, ring_oil: bool) -> dict[str, Any]:
        tables = []
        for number, inputs in enumerate(asked, start=1):
            with_or_without = "with" if ring_oil else "without"
            self.stderr.write(f"{number} of {len(asked)}, {with_or_without} ring oil")
            tables += list(engine.tables_of(inputs, ring_oil=ring_oil))
        if not tables:
            raise CommandError("No ball of the catalogue can be thrown to the pocket: none to try.")
        return engine.spread_of(tables)


def _table(answer: dict[str, Any]) -> str:
    lines = [
        f"{answer['customers']} customers, {answer['with_ring_oil']['tables']} balls in every "
        f"layout and finish, model {answer['model_version']}",
        "",
        f"{'':<44} {'finishes':>16} {'layouts':>16}  finishes spread",
        f"{'':<44} {'sd':>8}{'range':>8} {'sd':>8}{'range':>8}  more in",
    ]
    for key, words in (("with_ring_oil", "ring oil"), ("without_ring_oil", "no ring oil")):
        for measure, named in engine.SPREAD_MEASURES.items():
            found = answer[key][measure]
            scale, places = (100, 1) if measure == "value" else (1, 2)
            cells = " ".join(
                f"{scale * found[by]['sd']:>8.{places}f}{scale * found[by]['range']:>8.{places}f}"
                for by in ("finish", "layout")
            )
            lines.append(f"{named + ', ' + words:<44} {cells}  {100 * found['outweighs']:.0f} %")
    return "\n".join([*lines, "", "Boards, and points of strike chance (estimates)."])
