"""Plots of findings as SVG: plain functions from values to a drawing in light colours."""
