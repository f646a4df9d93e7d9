"""The past replayed: a plan made with what was known on a day, against what failed after it."""
