"""The work in the bay: sheets composed from a template, answers, hold points, the record. Pure."""
