"""Every customer of a shop ranked again: put in line at night, watched by day."""
