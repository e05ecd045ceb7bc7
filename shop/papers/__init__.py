"""Papers: the only door by which a document is rendered.

`render` makes a PDF from a template under templates/paper; the other modules gather what stands
in one. Views give them out, and answer whoever scans the code on a tow card.
"""
