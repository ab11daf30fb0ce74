"""The page on this machine: a loopback door, its views and its safety."""
