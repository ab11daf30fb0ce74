"""Where the gold comes from: stream tree, counts, grains, rocks, the next samples."""
