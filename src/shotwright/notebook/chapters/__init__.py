"""The notebook's chapters: each turns its part of the content into a section of words, tables and figures."""
