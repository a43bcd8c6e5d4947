"""Rules and names: files read and checked, kept in a cache, held in memory; the glossary."""
