"""A shop of our own invention to look around in. Only inputs are written here: who throws how,
what they own, what lies on the lanes. Every result is computed by the engine."""
