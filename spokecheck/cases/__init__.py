"""Room under construction."""
