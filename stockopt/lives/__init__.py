"""Fleet -> Lives: meters, positions, ages, suspensions, late entry."""
