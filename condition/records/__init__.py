"""What the shop knows, as plain immutable records. Imports only ``condition.errors``."""
