"""The only room that draws. Everything is worked out and frozen before it comes here.

`response`, `impedance`, `readings`, `schematic` and `setups` each make one kind of figure from
plain data; `saving` writes it. A circuit diagram is first laid out as positions (`layout`: in rows
by `row_plan`, `strip`, `rows`, `upright`, `lying`; on `rails` where rows can't hold it) and then
drawn (`drawing`). matplotlib and schemdraw are loaded when something is drawn, not before.
"""
