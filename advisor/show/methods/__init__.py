"""What a method has to say of its own numbers: a module a method, by its prefix, and none where methods.toml says it all.

A module may have: a function KEY(rows) for each number that methods.toml has no pattern for, which gives its words, or
words and dial; `shown(rows)`, the keys of its own rows that there are, None for all; `table(method, advice, cell)`, a
rows.Table; `table_numbers(method, advice)`, a row of that table worked out; `DERIVED`, key -> function (method, advice)
for a number that only a screen has.
"""
