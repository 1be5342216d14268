"""Parts in words and tables: their record, and how long their like last."""
