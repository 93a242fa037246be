"""How warm the water was, by depth and time, from every thermometer that was in it."""
