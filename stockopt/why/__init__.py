"""Why the plan is as it is: what each piece saves, and what stands in the way of one more."""
