"""A finished filling is brought lower: overlaps are allowed for a while, and taken out under a ceiling."""
