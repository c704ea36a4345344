"""The customers of the demo, one of every kind a counter meets. All invented.

Layouts, labels, holes and deliveries are inputs; what they lead to is computed.
"""

from __future__ import annotations

from arsenal.demo.balls import Label
from arsenal.demo.kinds import (
    Ball,
    Person,
    Throw,
    Visit,
    angles,
    buffer,
    grip,
    read_off,
)
from arsenal.demo.lanes import (
    BLOCKED_SHORT,
    CHALLENGE_LONG,
    CHALLENGE_SHORT,
    DRY_BLEND,
    HOUSE_BLEND,
    HOUSE_WORN,
    SPORT_FLAT,
    SPORT_LONG,
    after,
)

REVS = Person(
    name="Marcus Ellery",
    kind="rev-dominant",
    average=204,
    born=1994,
    goal="Stay right of the third arrow once the lanes open up.",
    complaint="Everything I own jumps left by the second game.",
    visits=(Visit(40, Throw(16.4, 425, 52, 11, 5.125, 0.5), count=6),),
    holes=grip(thumb=(1.063, 2.75), thumb_pitch=-0.125, finger_up=2.72, thumb_down=2.75),
    bag=(
        Ball(
            "Hornbeam",
            Label(15, "2.0", 3.0, 2.5),
            angles(50, 4, 35),
            "1000",
            18,
            "more oil",
        ),
        Ball(
            "Field Maple",
            Label(15, "1.5", 2.7, 2.8),
            angles(45, 4.5, 30),
            "2000",
            24,
            "benchmark",
        ),
    ),
    meets={HOUSE_BLEND: 34, HOUSE_WORN: 30, DRY_BLEND: 12},
)

SPEED = Person(
    name="Ingrid Palmer",
    kind="speed-dominant",
    average=188,
    born=1987,
    goal="A ball that picks up before the pins, not behind them.",
    complaint="It skates past the breakpoint and I leave flat corner pins all night.",
    visits=(Visit(31, Throw(19.6, 235, 44, 14, 4.75, 0.25), count=5),),
    holes=grip(finger_up=2.48, thumb_down=2.5, thumb=(0.938, 2.6)),
    bag=(
        Ball(
            "Bird Cherry",
            Label(14, "2.0", 2.6, 2.4),
            angles(75, 5, 40),
            "polished",
            15,
            "benchmark",
        ),
        Ball("Downy Birch", Label(14, "1.0", 2.9, 2.7), buffer(5, 5.25, 2.5), "polished", 4),
        Ball("Crab Apple", Label(14, "0.5", 1.2, 1.0), angles(60, 4, 60), "polished", 80, "spares"),
    ),
    meets={CHALLENGE_LONG: 32, SPORT_FLAT: 12},
)

MATCHED = Person(
    name="Tom Whitaker",
    kind="matched",
    average=201,
    born=1979,
    goal="Know whether there is anything worth buying before the season ends.",
    complaint="None really. I just keep hearing that I need another ball.",
    visits=(
        Visit(400, Throw(17.9, 315, 46, 13, 5.25, 0.375), count=4, notes="First visit."),
        Visit(215, Throw(17.7, 325, 47, 13, 5.25, 0.375), count=4),
        Visit(
            19,
            Throw(17.5, 335, 48, 13, 5.25, 0.375),
            count=6,
            notes="Slower and a little stronger than a year ago; PAP where it was.",
            slips=(Throw(17.2, 265, 40, 17, 5.0, 0.5),),
        ),
    ),
    holes=grip(thumb=(1.0, 2.8), thumb_pitch=-0.0625),
    bag=(
        Ball("Silver Lime", Label(15, "1.0", 2.5, 3.0), buffer(4.5, 4.25, 2.25), "4000", 6),
        Ball(
            "Wild Service",
            Label(15, "3.0", 3.1, 2.2),
            angles(50, 4, 65),
            "polished",
            3,
            "benchmark",
        ),
        Ball(
            "Juniper",
            Label(15, "2.5", 2.0, 1.7),
            angles(55, 4.25, 60),
            "polished",
            5,
            "less oil",
        ),
        Ball("Hazel", Label(15, "0.0", 1.0, 0.8), angles(70, 4, 50), "polished", 150, "spares"),
    ),
    meets={HOUSE_BLEND: 34, CHALLENGE_LONG: 12},
)

TILTED = Person(
    name="Denise Okafor",
    kind="spinner: high tilt",
    average=183,
    born=1971,
    goal="Something that gets into a roll before it reaches the pins.",
    complaint="It spins like a top and hits like a feather.",
    visits=(Visit(66, Throw(16.2, 265, 68, 25, 4.5, 0.875), count=5),),
    holes=grip(finger_up=2.42, thumb_down=2.45, thumb=(0.906, 2.6), thumb_pitch=0.0625),
    bag=(
        Ball("Rowan", Label(14, "1.0", 2.4, 2.6), angles(60, 4.5, 45), "polished", 40),
        Ball(
            "Silver Lime",
            Label(14, "2.5", 2.7, 2.3),
            angles(45, 4, 50),
            "3000",
            22,
            "benchmark",
        ),
    ),
    meets={HOUSE_BLEND: 33, DRY_BLEND: 20},
)

LEFT = Person(
    name="Luis Herrera",
    kind="left-handed",
    hand="left",
    average=197,
    born=1983,
    goal="Score in the second block, when everybody else has moved in.",
    complaint="My side never breaks down, so what they tell the others doesn't fit me.",
    visits=(
        Visit(180, Throw(17.1, 300, 50, 15, 5.0, 0.25), count=5),
        Visit(12, Throw(17.2, 310, 52, 15, 5.0, 0.25), count=5),
    ),
    holes=grip(thumb_pitch=-0.0625, under=0.125),
    bag=(
        Ball(
            "Wych Elm",
            Label(15, "1.5", 2.8, 2.5),
            angles(55, 4.5, 45),
            "2000",
            16,
            "benchmark",
        ),
        Ball("Whitebeam", Label(15, "2.0", 2.3, 2.9), angles(70, 5, 35), "polished", 28),
        Ball("Hazel", Label(15, "1.0", 1.1, 0.9), angles(70, 4, 50), "polished", 200, "spares"),
    ),
    meets={HOUSE_BLEND: 30, after(HOUSE_BLEND, 30): 30},
)

TWO_HANDS = Person(
    name="Kayla Brandt",
    kind="two-handed, no thumb",
    hands="two",
    thumb="none",
    average=212,
    born=2002,
    goal="Keep the ball on the lane when it is dry outside.",
    complaint="On the old lanes I run out of boards to move to.",
    visits=(Visit(25, Throw(18.4, 480, 42, 7, 4.5, 0.5), count=6),),
    holes=grip(thumb=None, finger_up=2.3, finger=(0.938, 1.75)),
    bag=(
        Ball(
            "Wild Service",
            Label(15, "2.0", 2.5, 2.3),
            angles(50, 4.75, 45),
            "polished",
            20,
            "less oil",
        ),
        Ball(
            "Sessile Oak",
            Label(15, "1.0", 2.2, 2.6),
            angles(40, 4, 60),
            "2000",
            14,
            "benchmark",
        ),
        Ball("Sweet Chestnut", Label(15, "2.5", 2.6, 2.4), buffer(4, 4.0, 2.75), "1000", 30),
    ),
    meets={HOUSE_BLEND: 30, BLOCKED_SHORT: 16, SPORT_FLAT: 10},
    notes="Palm centre marked on every ball.",
)

JUNIOR = Person(
    name="Ethan Crowe",
    kind="junior outgrowing a light ball",
    fingers="conventional",
    average=116,
    born=2014,
    goal="Break 150 before the spring tournament.",
    complaint="The holes pinch and the ball feels like nothing now.",
    visits=(
        Visit(290, Throw(11.8, 110, 22, 12, 4.0, 0.25), count=3, loose=2.4),
        Visit(
            10,
            Throw(13.2, 165, 28, 13, 4.25, 0.25),
            count=4,
            loose=2.2,
            notes="Grown two inches since the last visit; the hand was measured again.",
        ),
    ),
    holes=grip(
        finger_up=1.7,
        thumb_down=1.7,
        half_bridge=0.55,
        finger=(0.75, 1.9),
        thumb=(0.781, 2.2),
        finger_pitch=0.125,
        thumb_pitch=0.125,
    ),
    bag=(
        Ball(
            "Grey Alder",
            Label(10, "1.0", 0.8, 0.8),
            angles(60, 4, 45),
            "polished",
            60,
            "benchmark",
        ),
    ),
    meets={HOUSE_BLEND: 34},
)

FULL_ROLLER = Person(
    name="Walter Novak",
    kind="full roller",
    fingers="conventional",
    average=176,
    born=1955,
    goal="Keep doing what I do, with something newer than what I have.",
    complaint="New balls flare right over my holes. I can hear them click.",
    visits=(Visit(90, Throw(15.4, 205, 34, 1, 6.4375, 2.375), count=4),),
    holes=grip(
        finger_up=2.1,
        thumb_down=2.15,
        half_bridge=0.625,
        finger=(0.844, 2.2),
        thumb=(0.938, 2.6),
        finger_pitch=0.125,
        thumb_pitch=0.25,
    ),
    bag=(
        Ball(
            "Quince",
            Label(15, "1.0", 1.6, 1.0),
            angles(80, 5.5, 60),
            "500",
            140,
            "benchmark",
        ),
        Ball("Hazel", Label(15, "2.0", 1.0, 0.7), angles(70, 5.5, 60), "polished", 90, "spares"),
    ),
    meets={DRY_BLEND: 40, HOUSE_BLEND: 12},
    notes="Track runs between thumb and fingers: check clearance before anything is drilled.",
)

SENIOR = Person(
    name="Harold Jessup",
    kind="senior on dry lanes",
    fingers="semi",
    average=168,
    born=1947,
    goal="A ball I can throw straight at the pocket and still have it finish.",
    complaint="It hooks at my feet and is dead when it gets there.",
    visits=(
        Visit(370, Throw(15.3, 215, 36, 9, 4.75, 0.0), count=4, loose=1.2),
        Visit(
            33,
            Throw(14.6, 200, 34, 9, 4.75, 0.0),
            count=4,
            loose=1.3,
            notes="Gave up two pounds of ball in the summer; speed is down a little.",
        ),
    ),
    holes=grip(
        finger_up=2.3, thumb_down=2.3, finger=(0.906, 2.0), thumb=(0.969, 2.6), thumb_pitch=0.125
    ),
    bag=(
        Ball(
            "Black Poplar",
            Label(13, "2.0", 2.3, 2.4),
            read_off(1.625, 3.1875, 3.3125, -3.375),
            "2000",
            20,
            "benchmark",
            notes="Drilled elsewhere; marks read off the ball.",
        ),
    ),
    meets={DRY_BLEND: 34, after(DRY_BLEND, 15): 26, BLOCKED_SHORT: 14},
)

# A strong, slow hook on oil that two leagues have burnt: with the one release a corner shot across
# the lane hooks away, while her ball suits the first ball. Her average is about what that scores.
CORNERS = Person(
    name="Priya Raman",
    kind="misses corners with one hybrid",
    at_spares="usual",
    average=171,
    born=1990,
    goal="Stop giving away two corner pins a game.",
    complaint="I can't pick up my corners. It hooks away from them every time.",
    visits=(Visit(22, Throw(15.8, 360, 66, 9, 4.875, 0.375), count=5, loose=1.2),),
    holes=grip(finger_up=2.45, thumb_down=2.45, thumb=(0.922, 2.6)),
    bag=(
        Ball(
            "Goat Willow",
            Label(14, "1.5", 2.6, 2.7),
            angles(65, 4.5, 60),
            "polished",
            0,
            "benchmark",
            notes="Polished here on the day of the fitting.",
        ),
    ),
    meets={HOUSE_WORN: 34},
)

WORN = Person(
    name="Dana Kowalski",
    kind="needs the surface back",
    average=209,
    born=1976,
    goal="Get back the ball I had in spring.",
    complaint="It used to go long and turn hard. Now it rolls early and hits soft.",
    visits=(Visit(8, Throw(17.2, 360, 51, 12, 5.0, 0.25), count=6),),
    holes=grip(),
    bag=(
        Ball(
            "Wild Service",
            Label(15, "0.0", 2.5, 2.5),
            angles(45, 4.5, 20),
            "polished",
            140,
            "benchmark",
            notes="Two seasons of league since it was last polished.",
        ),
    ),
    meets={CHALLENGE_LONG: 30},
)

BEGINNER = Person(
    name="Ben Archer",
    kind="beginner with one plastic ball",
    fingers="conventional",
    average=148,
    born=1999,
    goal="Learn to hook it.",
    complaint="It goes straight, whatever I do.",
    visits=(Visit(5, Throw(15.8, 225, 37, 14, 4.25, 0.25), count=5, loose=1.4),),
    holes=grip(
        finger_up=2.06,
        thumb_down=2.125,
        half_bridge=0.625,
        finger=(0.875, 2.25),
        thumb_pitch=0.25,
        finger_pitch=0.125,
    ),
    bag=(
        Ball(
            "Hazel",
            Label(14, "1.0", 1.0, 0.9),
            angles(45, 3.5, 45),
            "polished",
            30,
            "benchmark",
            notes="Bought with the first pair of shoes.",
        ),
    ),
    meets={HOUSE_BLEND: 30},
)

NINE = Person(
    name="Renee Castillo",
    kind="nine balls and still a gap",
    average=206,
    born=1985,
    goal="One ball for when nothing in my bag will hold.",
    complaint="I carry nine and still throw the same one wrong on the dry house.",
    visits=(
        Visit(260, Throw(17.3, 345, 54, 12, 5.0, 0.5), count=5),
        Visit(15, Throw(17.0, 355, 55, 12, 5.0, 0.5), count=6),
    ),
    holes=grip(thumb=(0.969, 2.7), finger_up=2.55, thumb_down=2.55),
    bag=(
        Ball("Hornbeam", Label(15, "1.0", 3.0, 2.4), angles(45, 3.5, 35), "500", 8, "more oil"),
        Ball("Hornbeam", Label(15, "2.0", 2.8, 2.7), angles(50, 4, 40), "1000", 12),
        Ball("Sweet Chestnut", Label(15, "1.5", 3.1, 2.3), angles(55, 4, 35), "500", 6),
        Ball("Sessile Oak", Label(15, "2.5", 2.6, 2.5), angles(45, 4, 45), "1000", 15, "benchmark"),
        Ball("Wych Elm", Label(15, "0.5", 2.9, 2.6), buffer(4.25, 4.25, 2.5), "1000", 20),
        Ball("Field Maple", Label(15, "3.0", 3.2, 2.1), angles(50, 4.25, 40), "1000", 10),
        Ball("Spindle", Label(15, "1.5", 2.7, 2.8), angles(50, 4.5, 40), "1000", 18),
        Ball("Wild Pear", Label(15, "2.0", 2.5, 2.9), angles(60, 4.5, 45), "500", 30),
        Ball("Black Poplar", Label(15, "1.0", 2.4, 3.0), angles(50, 4, 50), "1000", 14),
    ),
    meets={SPORT_LONG: 20, HOUSE_BLEND: 24, DRY_BLEND: 24},
)

SPORT = Person(
    name="Victor Lindahl",
    kind="high-average sport bowler",
    average=223,
    born=1991,
    goal="One more shape for long flat oil without losing the short one.",
    complaint="On the long pattern I have one ball and one line, and no second look.",
    visits=(
        Visit(330, Throw(18.2, 375, 54, 12, 5.375, 0.625), count=6, loose=0.8),
        Visit(
            28,
            Throw(18.3, 390, 56, 12, 5.375, 0.625),
            count=6,
            loose=0.8,
            notes="Filmed from behind and from above.",
        ),
        Visit(
            27,
            Throw(17.4, 430, 66, 13, 5.375, 0.625),
            count=4,
            purpose="other",
            release_note="more rotation on long, heavy oil",
        ),
    ),
    holes=grip(thumb=(1.031, 2.75), thumb_pitch=-0.125, finger_up=2.68, thumb_down=2.7),
    bag=(
        Ball(
            "Sessile Oak",
            Label(15, "2.0", 2.7, 2.6),
            angles(50, 4.5, 35),
            "2000",
            4,
            "benchmark",
        ),
        Ball("Field Maple", Label(15, "2.8", 3.0, 2.3), angles(60, 5, 30), "3000", 8),
        Ball("Wild Service", Label(15, "1.5", 2.8, 2.8), angles(70, 5, 35), "4000", 10),
        Ball("Scots Pine", Label(15, "2.0", 2.2, 2.0), angles(60, 5, 50), "1000", 12, "less oil"),
        Ball("Hazel", Label(15, "1.5", 1.2, 0.9), angles(70, 4, 50), "polished", 120, "spares"),
    ),
    meets={SPORT_FLAT: 24, SPORT_LONG: 18, CHALLENGE_SHORT: 12},
)

STROKER = Person(
    name="Linda Farrow",
    kind="low revs, with a ball that isn't legal any more",
    fingers="semi",
    average=179,
    born=1962,
    goal="Bowl the city championship with a ball nobody can object to.",
    complaint="They put my old one on the scale and shook their heads.",
    visits=(Visit(51, Throw(16.0, 210, 40, 14, 4.875, 0.25), count=4),),
    holes=grip(
        finger_up=2.32, thumb_down=2.375, finger=(0.906, 2.0), thumb_pitch=0.125, half_bridge=0.61
    ),
    bag=(
        Ball(
            "Wild Pear",
            Label(15, "3.0", 4.2, 4.75),
            read_off(1.0, 0.75, 5.5, -4.25),
            "1000",
            70,
            "benchmark",
            notes="Had a balance hole until 2020, plugged since: look at its statics.",
        ),
        Ball("Medlar", Label(15, "1.0", 2.5, 2.6), angles(60, 4.5, 40), "polished", 45),
    ),
    meets={HOUSE_BLEND: 34, CHALLENGE_SHORT: 6},
)

COMEBACK = Person(
    name="Grace Adeyemi",
    kind="coming back after an injury",
    average=177,
    born=1980,
    goal="Get my carry back without going back to what hurt.",
    complaint="The ball that used to roll up now slides past.",
    visits=(
        Visit(540, Throw(16.9, 330, 50, 12, 4.875, 0.5), count=5),
        Visit(150, Throw(15.8, 225, 40, 16, 4.75, 0.375), count=4, loose=1.4),
        Visit(
            16,
            Throw(16.2, 260, 43, 15, 4.75, 0.375),
            count=5,
            loose=1.2,
            notes="A pound lighter than before. No pain today; stops if there is any.",
        ),
    ),
    holes=grip(finger_up=2.4, thumb_down=2.4, thumb=(0.953, 2.6), thumb_pitch=0.0625),
    bag=(
        Ball(
            "Bird Cherry",
            Label(14, "2.0", 2.5, 2.5),
            angles(70, 5, 35),
            "polished",
            50,
            "benchmark",
        ),
        Ball("Whitebeam", Label(14, "1.0", 2.2, 2.7), angles(60, 4.5, 45), "polished", 35),
        Ball(
            "Sessile Oak",
            Label(15, "2.0", 2.7, 2.6),
            angles(65, 4.5, 35),
            "2000",
            90,
            notes="Put away since the injury: a pound too heavy.",
            pap=(4.875, 0.5),
            retired=True,
        ),
    ),
    meets={HOUSE_BLEND: 30, after(CHALLENGE_LONG, 10): 6},
)

YOUTH = Person(
    name="Owen Pruitt",
    kind="one hand, no thumb",
    thumb="none",
    average=164,
    born=2010,
    goal="Make the school team.",
    complaint="Huge hook one shot, none the next.",
    visits=(Visit(44, Throw(16.0, 340, 58, 9, 4.25, 0.5), count=5, loose=1.8),),
    holes=grip(thumb=None, finger_up=2.2, finger=(0.906, 1.6)),
    bag=(
        Ball(
            "Rowan",
            Label(13, "1.0", 1.8, 2.0),
            angles(60, 4, 60),
            "polished",
            35,
            "benchmark",
        ),
        Ball("Hazel", Label(13, "0.5", 0.9, 0.8), angles(60, 4, 60), "polished", 60, "spares"),
    ),
    meets={HOUSE_BLEND: 16, after(HOUSE_BLEND, 15): 16},
    notes="Palm centre marked.",
)

URETHANE = Person(
    name="Carla Benning",
    kind="left-handed, straighter, two urethanes",
    hand="left",
    average=186,
    born=1968,
    goal="Find out whether I gave up too much hook.",
    complaint="Safe every shot, but I leave corner pins when it gets slick.",
    visits=(Visit(73, Throw(16.6, 250, 30, 11, 5.125, 0.0), count=5),),
    holes=grip(thumb=(0.984, 2.7)),
    bag=(
        Ball("Juniper", Label(14, "2.0", 2.0, 1.8), angles(50, 4, 50), "1000", 40, "benchmark"),
        Ball("Scots Pine", Label(14, "1.0", 2.2, 2.1), buffer(4.5, 5.0, 2.25), "2000", 25),
    ),
    meets={HOUSE_BLEND: 30, SPORT_FLAT: 8},
)

NO_FITTING = Person(
    name="Amara Blake",
    kind="no fitting yet",
    average=159,
    born=1996,
    goal="A second ball, maybe. Tell me if I need one.",
    complaint="I bought this one online and never had it looked at.",
    bag=(
        Ball(
            "Goat Willow",
            Label(14, "1.0", 2.1, 2.6),
            angles(60, 4.5, 45),
            "4000",
            55,
            notes="Drilled elsewhere to a PAP nobody wrote down.",
        ),
    ),
    meets={HOUSE_BLEND: 28},
)

DRAFT = Person(
    name="Josh Tanner",
    kind="a fitting half done",
    average=181,
    born=2000,
    goal="Throw one ball all night.",
    complaint="I change balls every game and it never helps.",
    visits=(
        Visit(
            1,
            Throw(18.1, 300, None, None, None, None),
            count=3,
            draft=True,
            notes="Lane was needed; rotation, tilt and PAP next time.",
        ),
    ),
    bag=(
        Ball("Spindle", Label(15, "2.0", 2.6, 2.5), angles(50, 4.5, 40), "2000", 25, "benchmark"),
    ),
    meets={HOUSE_BLEND: 32, HOUSE_WORN: 10},
)

NOWHERE_YET = Person(
    name="Sofia Marino",
    kind="no conditions yet",
    average=190,
    born=1989,
    goal="Moved here last month and don't know the houses.",
    complaint="What worked back home doesn't here.",
    visits=(Visit(6, Throw(17.0, 290, 48, 14, 4.9375, 0.25), count=4, is_filmed=True),),
    holes=grip(finger_up=2.5, thumb_down=2.5),
    bag=(
        Ball("Wych Elm", Label(14, "2.0", 2.7, 2.5), angles(50, 4.5, 45), "2000", 20, "benchmark"),
        Ball("Medlar", Label(14, "1.0", 2.4, 2.6), angles(65, 5, 35), "polished", 33),
    ),
)

NO_BALL = Person(
    name="Colin Rhodes",
    kind="no ball of their own",
    average=144,
    born=1993,
    goal="First ball of my own.",
    complaint="House balls never fit twice.",
    visits=(Visit(3, Throw(15.8, 220, 35, 14, 4.625, 0.25), count=4, loose=1.6),),
    meets={HOUSE_BLEND: 20},
)

NOTHING_YET = Person(
    name="Mina Solberg",
    kind="a beginner with nothing",
    goal="Try a league with the people from work.",
    complaint="I have never owned a ball.",
)

PEOPLE: tuple[Person, ...] = (
    REVS,
    SPEED,
    MATCHED,
    TILTED,
    LEFT,
    TWO_HANDS,
    JUNIOR,
    FULL_ROLLER,
    SENIOR,
    CORNERS,
    WORN,
    BEGINNER,
    NINE,
    SPORT,
    STROKER,
    COMEBACK,
    YOUTH,
    URETHANE,
    NO_FITTING,
    DRAFT,
    NOWHERE_YET,
    NO_BALL,
    NOTHING_YET,
)
# Whose rankings are put in line by the load.
ASKED_FIRST: tuple[str, ...] = (REVS.name, SPEED.name, WORN.name)
