"""The job's steps: each a few functions that join records, store, imaging and report."""
