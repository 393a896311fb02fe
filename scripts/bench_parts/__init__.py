"""The parts of scripts/bench: an invented county, two peer scripts, and what compares them with groundfit."""
