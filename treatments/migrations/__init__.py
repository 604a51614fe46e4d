"""The database's changes, one by one."""
