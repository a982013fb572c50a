#!/usr/bin/env python3
"""Finds by networkx (BSD) what the search of src/arrange finds by itself.

  PEGWISE_GRAPHS=DIR cargo test --no-default-features --lib graphs -- --ignored
  shortest_path.py DIR > shortest_path.csv

Each file of DIR is a graph: two ends and a cost a line. Printed is the cost of the shortest path from start to end.
"""
import pathlib
import sys

import networkx

print("# By shortest_path.py with networkx", networkx.__version__)
print("tune,tuning,cost")
for path in sorted(pathlib.Path(sys.argv[1]).glob("*.txt")):
    graph = networkx.DiGraph()
    for line in path.read_text().splitlines():
        one, other, cost = line.split()
        if one == "start":
            graph.add_edge(one, other.split()[0], weight=float(cost))
        else:
            graph.add_edge(one, other, weight=float(cost))
    cost = networkx.shortest_path_length(graph, "start", "end", weight="weight")
    tune, tuning, _ = path.name.split(".")
    print(f"{tune},{tuning},{cost:.9f}")
