"""Diagrams: ground at the top, people at the bottom, and what one failure does written on the parts."""
