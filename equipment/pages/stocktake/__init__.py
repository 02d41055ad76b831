"""The pages of a stocktake."""
