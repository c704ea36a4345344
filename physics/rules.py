"""Rule sets as data: limits of a ball with their date, source and how sure we are of them."""

from dataclasses import dataclass

from physics.body import Body, Label
from physics.units import KG_TO_LB


@dataclass(frozen=True)
class RuleSet:
    """Limits on a drilled ball. Limits read "not more than": exactly at the limit passes."""

    name: str
    source: str
    heavy_over_lb: float
    heavy_static_oz: float
    light_top_oz: float
    light_side_oz: float
    weight_lb: float = 16.0
    rg_low_in: float = 2.46
    rg_high_in: float = 2.80
    differential_in: float = 0.060


# Static balance in force since 1 Aug 2020: read in a page of the governing body for balls over
# 10 lb; the rows for lighter balls are from memory, low confidence. RG and differential: as quoted
# from the governing body's 2010 and 2004 decisions.
NO_BALANCE_HOLE = RuleSet(
    name="no balance hole, from 1 August 2020",
    source="US and international governing bodies; rows up to 10 lb from memory",
    heavy_over_lb=10.0,
    heavy_static_oz=3.0,
    light_top_oz=2.0,
    light_side_oz=0.75,
)
# Figures from statics are known to about this much: float noise must not fail an exact limit.
EXACT = 1e-9


def undrilled_faults(label: Label, rules: RuleSet = NO_BALANCE_HOLE) -> list[str]:
    """What a ball breaks before it is drilled, each in words with the limit and the value."""
    high = label.rg_low_in + label.differential_in
    checks = (
        (label.weight_lb, rules.weight_lb, "weighs {:.2f} lb, limit {:.2f} lb"),
        (high, rules.rg_high_in, "RG {:.3f} in, limit {:.3f} in"),
        (
            label.differential_in,
            rules.differential_in,
            "differential {:.3f} in, limit {:.3f} in",
        ),
    )
    found = [words.format(value, limit) for value, limit, words in checks if value > limit + EXACT]
    if label.rg_low_in < rules.rg_low_in - EXACT:
        found.append(f"RG {label.rg_low_in:.3f} in, at least {rules.rg_low_in:.3f} in")
    return found


def static_faults(body: Body, rules: RuleSet = NO_BALANCE_HOLE) -> list[str]:
    """Static balances over their limits, each in words with the limit and the value."""
    heavy = body.mass_kg * KG_TO_LB > rules.heavy_over_lb
    top_limit = rules.heavy_static_oz if heavy else rules.light_top_oz
    side_limit = rules.heavy_static_oz if heavy else rules.light_side_oz
    top, side, finger = body.static_oz
    rows = (
        ("top" if top >= 0 else "bottom", top, top_limit),
        ("PAP side" if side >= 0 else "side away from the PAP", side, side_limit),
        ("finger" if finger >= 0 else "thumb", finger, side_limit),
    )
    return [
        f"{name} weight {abs(value):.2f} oz, limit {limit:.2f} oz"
        for name, value, limit in rows
        if abs(value) > limit + EXACT
    ]
