"""Old floods read from boulders, water over the ground, and where gold stops."""
