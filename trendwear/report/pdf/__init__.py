"""Documents to be printed and filed: one page frame, one way to make a PDF from data."""
