"""A paper template at true size: its sheets and their seams, lines, words and pages."""
