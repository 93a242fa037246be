"""What every picture, table and sentence is made with."""
