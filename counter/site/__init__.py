"""The site itself: environment, set-up, what stands round every request, error pages."""
