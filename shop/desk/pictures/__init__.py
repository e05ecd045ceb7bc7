"""Pictures laid out in plain data; the templates of templates/parts/ only write them down."""
