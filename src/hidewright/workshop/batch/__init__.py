"""A batch of orders: the plan of its week, what was promised, what went otherwise."""
