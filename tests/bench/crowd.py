"""A shop with many customers and many balls: invented, and the same for the same numbers."""

from __future__ import annotations

import random
from decimal import Decimal

from arsenal.models import BallModel, BallSpec, OwnedBall, StockBall
from bowlers.models import Bowler, Fitting
from proshop.models import Shop

FIRST = (
    *("Ada", "Bo", "Cy", "Di", "Eve", "Finn", "Gus", "Hana", "Ivo"),
    *("June", "Kai", "Lena", "Milo", "Nora", "Otis", "Pia", "Quinn", "Rosa"),
    *("Sam", "Tove", "Uma", "Vera", "Wes", "Xenia", "Yara", "Zoë"),
)
LAST = (
    *("Alder", "Birk", "Cobb", "Dahl", "Ekman", "Frey", "Grau", "Holm", "Irving"),
    *("Juhl", "Kemp", "Lind", "Marsh", "North", "Okafor", "Prat", "Quist", "Reed"),
    *("Stone", "Thorn", "Udell", "Vale", "West", "Xu", "Yates", "Zorn"),
)
BATCH = 2000


def crowd(
    shop: Shop, *, customers: int, balls: int, on_shelf: int = 0, models: int = 200, seed: int = 1
) -> None:
    """Fill a shop: customers with a phone, two of three fitted once, balls dealt out evenly."""
    draw = random.Random(seed)
    bowlers = []
    for number in range(customers):
        name = f"{draw.choice(FIRST)} {draw.choice(LAST)}{draw.choice(LAST).lower()} {number}"
        phone = f"+1 {draw.randrange(200, 999)} 555 {draw.randrange(10_000):04}"
        bowler = Bowler(shop=shop, name=name, phone=phone, average=draw.randrange(90, 240))
        bowler.set_keys()
        bowlers.append(bowler)
    Bowler.objects.bulk_create(bowlers, batch_size=BATCH)
    Fitting.objects.bulk_create(
        (
            Fitting(shop=shop, bowler=bowler, status="finished")
            for number, bowler in enumerate(bowlers)
            if number % 3
        ),
        batch_size=BATCH,
    )
    specs = _specs(shop, models)
    label = {"label_weight_lb": 15, "top_weight_oz": 2.5, "pin_to_cg_in": 2.5}
    OwnedBall.objects.bulk_create(
        (
            OwnedBall(
                shop=shop,
                bowler=bowlers[number % customers],
                spec=draw.choice(specs),
                serial=f"{draw.randrange(16**8):08X}",
                layout_numbers={
                    "drilling_angle_deg": 45.0,
                    "pin_to_pap_in": 4.5,
                    "val_angle_deg": 35.0,
                },
                pap_over_in=5.0,
                finish="2000",
                **label,
            )
            for number in range(balls)
        ),
        batch_size=BATCH,
    )
    StockBall.objects.bulk_create(
        (
            StockBall(
                shop=shop,
                spec=draw.choice(specs),
                serial=f"S{number:07X}",
                price=Decimal(180),
                state=("shelf", "sold")[number % 2],
                **label,
            )
            for number in range(on_shelf)
        ),
        batch_size=BATCH,
    )


def _specs(shop: Shop, models: int) -> list[BallSpec]:
    kept = []
    for number in range(models):
        model = BallModel(
            shop=shop,
            name=f"Model {number}",
            cover="solid",
            factory_finish="2000",
            price=Decimal(180),
            search_key=f"model {number}",
        )
        kept.append(model)
    BallModel.objects.bulk_create(kept, batch_size=BATCH)
    figures = {"rg_low_in": 2.5, "differential_in": 0.045}
    return BallSpec.objects.bulk_create(
        (
            BallSpec(model=model, weight_lb=pounds, **figures)
            for model in kept
            for pounds in (14, 15)
        ),
        batch_size=BATCH,
    )
