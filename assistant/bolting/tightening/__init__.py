"""Who is pulled when, and with what: orders, passes, wrenches, multipliers and adapters."""
