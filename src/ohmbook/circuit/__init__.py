"""Linear circuits: elements, topology, plan, run, sensitivities. No statistics."""
