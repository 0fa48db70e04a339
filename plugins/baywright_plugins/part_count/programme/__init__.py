"""The stock programme: several machines from several shelves, a shortage mended at least cost."""
