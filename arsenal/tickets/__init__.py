"""Jobs of the shop from promised to collected, what they cost, and who is to be asked after."""
