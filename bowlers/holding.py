"""How a ball is held and thrown: which hand, thumb in or out, how far the fingers go in."""

from django.db import models


class Hand(models.TextChoices):
    RIGHT = "right", "Right"
    LEFT = "left", "Left"


class Thumb(models.TextChoices):
    IN = "in", "Thumb in"
    NONE = "none", "No thumb"


class Hands(models.TextChoices):
    ONE = "one", "One hand"
    TWO = "two", "Two hands"


class Fingers(models.TextChoices):
    CONVENTIONAL = "conventional", "Conventional"
    SEMI = "semi", "Semi-fingertip"
    FINGERTIP = "fingertip", "Fingertip"
