"""Two laws side by side; a pack looked at as its writer should see it."""
