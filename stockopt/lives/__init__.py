"""What each piece did: meters, positions, ages, suspensions, late entry."""
