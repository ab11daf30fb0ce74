"""What the pans say: volume, gold, recovery, grade and its doubt."""
