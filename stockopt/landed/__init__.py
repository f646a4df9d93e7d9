"""Local against mail order: what a basket of parts costs in the hand, from whom, to the cent."""
