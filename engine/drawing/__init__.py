"""Pictures of numbers, each with the same in words."""
