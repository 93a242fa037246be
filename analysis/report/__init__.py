"""Write the result files and render the notebooks."""
