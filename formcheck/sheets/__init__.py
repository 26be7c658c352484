"""What people and programs receive: pages, tables and data."""
