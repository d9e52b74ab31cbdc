"""Backups of the whole workshop: taken while it works, checked once written, kept for days and weeks, and restored.

A backup is one file that holds the database, the letters that lie as files, and a list of what there is: `archive` says
its form, `keeping` which are kept, `sqlite` and `postgresql` how each database is copied.
"""
