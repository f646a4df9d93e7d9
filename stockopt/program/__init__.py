"""The integer program: one choice for each boat and part, and what to buy, at least cost."""
