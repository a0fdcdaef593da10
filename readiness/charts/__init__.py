"""Traces, spectra and control charts as SVG."""
