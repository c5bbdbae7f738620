"""The rest of a job: its parts, the order of its work, its price, and the sheets of both."""
