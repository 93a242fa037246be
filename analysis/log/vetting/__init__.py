"""Judge rows of text: clean values in SI, and what is set aside or changed, with the reason."""
