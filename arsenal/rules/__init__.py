"""Which rule book the shop holds balls to, and what it was allowed to change in it."""
