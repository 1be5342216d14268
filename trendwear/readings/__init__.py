"""Files, workbooks and folders to checked frames."""
