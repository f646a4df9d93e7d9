"""Every choice a boat has for a part, with its cost and its chance of a shortage."""
