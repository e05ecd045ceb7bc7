"""From what was judged and recorded to what templates show: plain dicts, no queries."""
