"""Side by side: any two balls, layouts, surfaces or states of care, and a plan for the night."""
