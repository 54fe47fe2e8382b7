"""Small faults put into the product, one at a time, to see whether the tests notice."""
