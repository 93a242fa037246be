"""What boat.toml says of words, and when two typed words are one."""
