"""The forms that write: one module for each thing that is recorded."""
