"""What people write and read: forms, schemas, a pack to begin with, the rule book."""
