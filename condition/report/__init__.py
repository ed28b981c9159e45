"""What leaves the shop: PDF, condition map, travelling marks, archive. Reads records, never the database."""
