"""The words of the glossary page: the trade's own, and the plain ones of this site."""

from typing import NamedTuple

from django.utils.text import slugify


class Word(NamedTuple):
    """A word, what it means in a sentence or two, and the picture beside it."""

    term: str
    meaning: str
    picture: str

    @property
    def key(self) -> str:
        return slugify(self.term)


class Part(NamedTuple):
    title: str
    words: list[Word]


BOWLER = [
    Word(
        "PAP",
        "Positive axis point: the end of the axis the ball turns about as it leaves the hand, on "
        "the side away from the track. It is written as inches over from the grip centre along "
        "the midline, then up or down along the VAL.",
        "pap",
    ),
    Word(
        "Midline",
        "The line through the grip centre at right angles to the line from thumb to fingers. "
        "“Over” is measured along it.",
        "pap",
    ),
    Word(
        "VAL",
        "Vertical axis line: the line through the PAP at right angles to the midline. “Up” and "
        "“down” are measured along it.",
        "pap",
    ),
    Word(
        "Rev rate",
        "How fast the ball turns as it leaves the hand, in turns a minute (rpm).",
        "revs",
    ),
    Word(
        "Axis rotation",
        "The angle between the ball’s axis and the foul line, seen from above. At 0° the ball "
        "turns end over end; at 90° it turns sideways.",
        "rotation",
    ),
    Word(
        "Axis tilt",
        "How far the axis leans up from the floor, in degrees. More tilt makes a smaller track "
        "and a later roll.",
        "tilt",
    ),
    Word(
        "Track",
        "The ring on which the ball first rolls. Every point of it is the same distance from the "
        "PAP, so it can be read from oil on the ball.",
        "track",
    ),
    Word(
        "Full roller",
        "A release without tilt whose track runs between thumb and fingers, right round the ball.",
        "roller",
    ),
    Word(
        "Grip: conventional, semi-fingertip, fingertip",
        "How far the fingers go in: to the second joint, between the joints, or to the first.",
        "grip",
    ),
    Word(
        "Release for spares",
        "The second release of a bowler who throws at spares in another way than at a full rack: "
        "flatter, firmer, often with less rotation. It is measured in a fitting of its own and "
        "used for second balls only. Until it is, a flatter one is assumed, and said to be.",
        "spares",
    ),
    Word(
        "Delivery",
        "One throw. A fitting holds several, since the spread between them matters as much as "
        "the mean.",
        "delivery",
    ),
]

BALL = [
    Word(
        "Pin",
        "The mark that shows the low-RG axis of the ball before drilling: the axis it turns "
        "about most easily.",
        "marks",
    ),
    Word(
        "PSA",
        "Preferred spin axis: the high-RG axis, a quarter of the way round the ball from the pin. "
        "Marked on balls that are asymmetric before drilling.",
        "marks",
    ),
    Word(
        "CG", "Centre of gravity: the mark towards which the undrilled ball is heaviest.", "marks"
    ),
    Word(
        "RG",
        "Radius of gyration, in inches: how far from an axis the mass sits on average. Low RG "
        "revs up sooner, high RG later.",
        "rg",
    ),
    Word(
        "Differential",
        "The high RG less the low one. It sets how far the track can flare.",
        "differential",
    ),
    Word(
        "Intermediate differential",
        "The high RG less the middle one: how unlike the two heavier axes are. More of it makes "
        "the ball change faster from skid to roll.",
        "differential",
    ),
    Word(
        "Flare",
        "The drift of the axis during the throw, seen as rings of oil that part from each other. "
        "Each turn then meets the lane with a fresh part of the cover.",
        "flare",
    ),
    Word(
        "Layout",
        "Where pin and PSA are put in relation to the bowler’s PAP when the ball is drilled. "
        "There are several ways to write one down; they can all say the same thing.",
        "layout",
    ),
    Word(
        "Drilling angle",
        "At the pin: the angle between the line to the PAP and the line to the PSA. Smaller "
        "rolls earlier.",
        "layout",
    ),
    Word(
        "Pin-to-PAP",
        "The distance from pin to PAP over the surface. About 3⅜ in lets the ball flare most.",
        "distance",
    ),
    Word(
        "VAL angle",
        "At the PAP: the angle between the line to the pin and the VAL. Smaller makes a quicker "
        "change of direction.",
        "layout",
    ),
    Word("Pin buffer", "The distance from the pin to the VAL.", "buffer"),
    Word(
        "Cover",
        "The outer shell, which makes the friction: solid, hybrid or pearl reactive, urethane, "
        "or polyester.",
        "cover",
    ),
    Word(
        "Grit",
        "How the cover is sanded. A low number is rough and grips early; polish slides longest.",
        "grit",
    ),
    Word(
        "Span",
        "The distance from thumb hole to finger hole over the surface, with the edges it is "
        "taken between always said.",
        "holes",
    ),
    Word(
        "Pitch",
        "How far a hole’s axis passes from the ball’s centre. Forward points towards the grip "
        "centre (the palm), reverse away from it.",
        "pitch",
    ),
    Word("Bridge", "What is left between the two finger holes, edge to edge.", "holes"),
    Word(
        "Insert and slug",
        "What sits in a drilled hole: an insert for a finger, a slug for the thumb. The slug’s own "
        "hole is cut afterwards, round or oval. Both put back most of the weight drilled out.",
        "sleeve",
    ),
    Word(
        "Plug",
        "Resin poured into an old hole before the ball is drilled again. It has to cure, and a new "
        "hole that cuts into its edge can break out a splinter.",
        "plug",
    ),
    Word(
        "Top, side and finger weight",
        "The statics: how much heavier the half with the grip is than the half below, the half "
        "towards the PAP than the other, and the half with the fingers than that with the thumb, "
        "in ounces. Rules limit them.",
        "statics",
    ),
    Word(
        "Bow tie",
        "Where the rings of oil cross as the track moves over the ball: narrow there, wide beside.",
        "flare",
    ),
    Word(
        "Redrill",
        "Plugging a ball’s holes and drilling it again, laid out otherwise. Before that the ball "
        "is looked over for cracks, and the customer signs that the maker’s warranty ends.",
        "plug",
    ),
]

LANE = [
    Word(
        "Board",
        "One of the 39 strips across the lane, about 1 1/16 in wide. Here they are counted from "
        "the gutter on the ball-hand side.",
        "boards",
    ),
    Word(
        "Arrows",
        "The seven marks 12 to 16 feet down the lane, on every fifth board, that bowlers aim at.",
        "boards",
    ),
    Word(
        "House and sport",
        "A house condition puts much more oil inside than outside and steers a wide ball back; a "
        "sport condition is flatter and forgives less.",
        "oils",
    ),
    Word(
        "Skid, hook, roll",
        "What a ball does in turn: it slides on the oil, then friction turns it, then it rolls "
        "without slipping.",
        "phases",
    ),
    Word(
        "Breakpoint",
        "Where the ball’s path is nearest to the gutter before it turns back.",
        "breakpoint",
    ),
    Word(
        "Entry angle",
        "The angle of the path against the boards as the ball meets the pins. Published studies "
        "find 4 to 6 degrees best.",
        "entry",
    ),
    Word(
        "Pocket",
        "Between the head pin and the next pin on the ball-hand side: about board 17½.",
        "entry",
    ),
    Word("Burn", "Oil worn off where balls have rolled: the lane hooks earlier there.", "worn"),
    Word("Carrydown", "Oil dragged past the end of the pattern, which delays the hook.", "worn"),
]

OURS = [
    Word(
        "Task",
        "One thing the bag must do: here, the first ball on one condition this bowler meets, "
        "weighed by how often they meet it.",
        "task",
    ),
    Word(
        "Condition",
        "One way a house’s lanes are oiled, described by what it is: length, volume, and how the "
        "oil falls off towards the gutters.",
        "condition",
    ),
    Word(
        "State of a condition",
        "Its oil fresh, after so many games on that lane, or burnt (30 games and more). Each "
        "person’s game counts one, so a league of five a lane puts 15 on it in three games.",
        "states",
    ),
    Word(
        "Hook length",
        "The feet of lane over which a ball spends the middle half of its turn, from a quarter "
        "to three quarters, on its own best line for a task. Short is angular, long is rolly.",
        "hook",
    ),
    Word(
        "Reaction shape",
        "How the change of direction is spread along the lane, from rolly (early and smooth) to "
        "angular (late and sharp).",
        "hook",
    ),
    Word(
        "Strength",
        "How many boards the ball moves against a straight path, on its own best line. Given in "
        "boards, beside the shape and apart from it.",
        "strength",
    ),
    Word(
        "Window",
        "The stretch of hook lengths that strikes about as well as can be done on a task, for "
        "this bowler.",
        "window",
    ),
    Word(
        "Gap",
        "A task whose window no ball in the bag reaches. It is told with its side: the bag is "
        "too rolly, or too angular, there.",
        "gap",
    ),
    Word(
        "Room to miss",
        "How many boards left and right of the line still strike nearly as well.",
        "room",
    ),
    Word(
        "Care",
        "What brings a ball back to what it was: cleaning the cover, drawing out the oil it has "
        "taken up, or restoring the finish it has with its own pad. Another finish is a new "
        "surface, not care.",
        "care",
    ),
    Word(
        "Next ball",
        "What to do next, in falling gain: nothing, care, a new surface, a redrill, a ball from "
        "the shelf, or one to order.",
        "next",
    ),
    Word(
        "Gain and certainty",
        "Gain is how many pins a game a change adds, by strikes and spares, over all tasks by "
        "their weight; certainty is how likely it is that there is any gain. Both are estimates.",
        "gain",
    ),
    Word(
        "Draws",
        "Guesses at all that isn't known, made anew many times over, the same for every choice; "
        "what a choice gains in most of them is its interval. Two choices are too close to call "
        "when the first wins in fewer than three draws of four.",
        "draws",
    ),
    Word(
        "Plate",
        "The ball flattened about the PAP or about the grip: from the middle every distance and "
        "direction is true. Stepping a number shows what the ball would be, and stores nothing.",
        "plate",
    ),
    Word(
        "Drill sheet",
        "The one page the press works from: what to mark, each hole in order with its pitch in "
        "words, what to expect, and a square code that leads back to the record.",
        "sheet",
    ),
    Word(
        "Promised",
        "A ball of the shop kept for one customer: it isn’t offered to anybody else.",
        "kept",
    ),
    Word(
        "Strip",
        "The lane lying on its side: feet along, boards up, oil in grey, with what two shots do "
        "differently between them.",
        "strip",
    ),
]

PARTS = [
    Part("Words of this site", OURS),
    Part("The bowler’s release", BOWLER),
    Part("The ball", BALL),
    Part("The lane", LANE),
]

# Labels of fields and columns that say a word of the glossary otherwise.
SAID_ELSE = {
    "pap over": "pap",
    "pap up": "pap",
    "rotation": "axis rotation",
    "tilt": "axis tilt",
    "low rg": "rg",
    "drilled rg": "rg",
    "pin to pap": "pin-to-pap",
    "pin to psa mark": "psa",
    "pin to cg": "cg",
    "forward pitch": "pitch",
    "sideways pitch": "pitch",
    "inside to outside ratio": "house and sport",
    "games on the oil": "state of a condition",
    "games on the oil before": "state of a condition",
    "how it looked": "reaction shape",
    "finish": "grit",
    "surface": "grit",
    "feet and target": "board",
}
BY_TERM = {word.term.lower(): word for part in PARTS for word in part.words}


def beside(label: str) -> Word | None:
    """The word that a field's label asks of whoever fills it in; a unit in brackets is no part."""
    name = str(label).split(" (")[0].strip().lower()
    return BY_TERM.get(SAID_ELSE.get(name, name))
