"""The family model of wear, on arrays and as a statsmodels model."""
