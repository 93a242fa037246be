"""How a season went: its water with every strike, hours of the day, areas, one trip as a strip."""
