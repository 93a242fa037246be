"""What the boat's instruments recorded by themselves: tracks and loggers, made rows of a log."""
