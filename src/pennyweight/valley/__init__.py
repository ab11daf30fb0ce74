"""Places along the valley: s meters downstream, n meters left."""
