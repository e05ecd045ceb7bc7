"""The owner's forms: rules, kinds of part, checks, accounts."""
