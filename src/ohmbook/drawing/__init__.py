"""The drawing of a sketch: what it joins, what is doubtful in it, and one made from a sheet."""
