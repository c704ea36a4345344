"""What was seen on the lanes after a ball was drilled, and what is learnt from it."""
