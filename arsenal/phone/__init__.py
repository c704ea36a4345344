"""The bowler's own page: a private link from the shop, opened on a phone without signing in."""
