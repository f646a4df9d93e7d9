"""What to order, from whom, by when: purchase orders, and a calendar of those to come."""
